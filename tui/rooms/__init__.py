"""The rooms: one screen for each part of the work."""
