"""The room Start."""
