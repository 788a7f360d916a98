"""The command line and the text screen: exit codes, streams, safe output, and each command's promises."""
