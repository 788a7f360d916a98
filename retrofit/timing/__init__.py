"""Floor 3: debounce, latency and time on the MIDI wire."""
