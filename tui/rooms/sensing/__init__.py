"""The room Sensing."""
