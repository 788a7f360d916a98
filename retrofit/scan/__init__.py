"""Floor 3: how points reach the pins of the controller."""
