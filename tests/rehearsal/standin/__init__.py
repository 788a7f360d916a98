"""Tests of the stand-in console."""
