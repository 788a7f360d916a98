"""Floor 6: the command line.  stdout is data, stderr is talk; one file per command, each loaded only when called."""
