"""Floor 5: a stand-in console in numbers: contacts that bounce, and what the board makes of them."""
