"""The room Scan."""
