"""Floor 5: live contacts, what was heard against what was expected, and what is wrong when the two differ."""
