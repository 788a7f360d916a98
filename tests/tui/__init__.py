"""Tests of the text screens."""
