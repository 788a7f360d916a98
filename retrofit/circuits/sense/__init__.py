"""Ways of sensing a line: each circuit a small model, worst case at the corners."""
