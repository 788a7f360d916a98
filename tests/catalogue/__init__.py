"""The catalogue of parts against its published sources."""
