"""A console, its wires and its board in software: what a plan would sound like, sound or with faults in its wiring."""
