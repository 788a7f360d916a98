"""The room Proving."""
