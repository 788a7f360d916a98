"""Floor 3: the MIDI messages of points, and which numbers they take."""
