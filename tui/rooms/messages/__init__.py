"""The room Messages."""
