"""Screens that lie over a room until they are answered."""
