"""The firmware's core, compiled for this machine and driven from Python."""
