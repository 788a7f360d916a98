"""Tests of the room Found and of what is opened from it."""
