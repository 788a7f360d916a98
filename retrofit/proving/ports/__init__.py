"""Where live MIDI comes in and goes out: ports of the system, serial lines, and recordings played again."""
