"""Checks of the diagnosis, and the campaign of faults in a netlist."""
