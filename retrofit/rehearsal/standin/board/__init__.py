"""The board of a stand-in console: what the firmware does with the levels that it reads, from event to event."""
