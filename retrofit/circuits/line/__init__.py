"""What a line is, from readings: its source, its class, what contradicts it, and what to read next."""
