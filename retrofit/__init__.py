"""Plans the conversion of an organ console to MIDI, and writes what is needed to do it."""
