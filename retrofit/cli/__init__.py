"""Floor 6: the command line."""
