"""The version, as a plain constant: reading it from the installed package would take longer than starting Python."""

VERSION = "0.1.0"
