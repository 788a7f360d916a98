"""Faults in a stand-in console, told in the user's words and done to its wires."""
