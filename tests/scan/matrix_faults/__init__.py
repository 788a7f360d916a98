"""Tests of diode matrices, their faults and their chords."""
