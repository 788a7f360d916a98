"""Floor 5: schedules and lists for people."""
