"""Diode matrices: recognised from readings, their faults, and the chords that find each fault."""
