"""Tests of what a line is, from readings."""
