"""The room Found."""
