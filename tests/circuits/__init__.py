"""Circuits: chain timing, settling and pull-ups."""
