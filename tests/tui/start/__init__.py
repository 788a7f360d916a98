"""Tests of the room Start."""
