"""What is to be known of coils beside the wiring of inputs: none is driven from here, and who drives one needs what."""

from __future__ import annotations

COIL_NOTES = (
    "no coil is driven by this board: stop-action magnets, chest magnets and relays stay on their own supply and "
    "drivers, and belong on none of its pins",
    "whoever drives stop-action magnets (SAM) or solenoids limits the time of each pulse in hardware, which holds also "
    "when a program hangs: a coil left on burns",
    "a diode across every coil that such a driver switches, since a coil let go throws hundreds of volts; none across "
    "magnets that the organ drives, whose release it would slow",
    "a fuse of its own for each branch of coils, near its source and below what its thinnest wire bears; their return "
    "apart from that of the inputs",
    "a coil that smells or is too hot to touch is held on: unplug at once, then look for what holds it",
    "coils and their supplies are for people who have learned such work; where local law says so, for licensed people "
    "alone",
)
"""Common practice, no source."""
