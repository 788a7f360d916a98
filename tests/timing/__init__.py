"""Debounce, latency and time on the wire."""
