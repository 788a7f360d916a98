"""The simulation of a console."""
