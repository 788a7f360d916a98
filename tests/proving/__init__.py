"""Tests of the live engine, the ports, the runs and the diagnosis."""
