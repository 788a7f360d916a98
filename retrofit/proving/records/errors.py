"""What can be wrong with a file of records, in words for whoever has to put it right."""

from __future__ import annotations


class RecordError(Exception):
    """A file of records cannot be used: which file, what was found, and the remedy."""


class RecordFullError(RecordError):
    """The disk has no room: what is not written yet is still held, and goes in once there is room."""
