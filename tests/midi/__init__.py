"""Messages, channels and numbers."""
