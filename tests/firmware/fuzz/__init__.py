"""Hostile bytes for the firmware: the programs that make them, and the command that runs them."""
