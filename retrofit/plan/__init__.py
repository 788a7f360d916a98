"""Floor 4: the conversion plan and the rules over it."""
