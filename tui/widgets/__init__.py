"""Parts that several rooms are made of."""
