"""Tests of the firmware writer."""
