"""Tests of the room Sensing."""
