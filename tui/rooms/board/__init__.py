"""The room Board."""
