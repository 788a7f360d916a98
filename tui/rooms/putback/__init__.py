"""The room Putback."""
