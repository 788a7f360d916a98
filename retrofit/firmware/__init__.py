"""Floor 5: writes the sketch folder from the plan."""
