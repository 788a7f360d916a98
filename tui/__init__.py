"""Floor 6: the text screens."""
