"""Whether the firmware's rings hold what may wait for the wire, and how long a note waits behind something else."""

from __future__ import annotations

from dataclasses import dataclass

from retrofit.timing.wire import BYTE_US_MAX
from retrofit.timing.wire_scenarios import FINGERS, ConsoleMessages, tutti

RING_SLOTS = {"notes": 64, "pistons": 16, "stops": 32}
"""Slots of the firmware's rings; a slot holds the contacts of one lane that changed at one sample."""
BYTES_AHEAD = 3
"""Bytes that may still be under way when the pump takes the next message: one in the ring, two in the transmitter."""
LONGEST_MESSAGE_BYTES = 3


@dataclass(frozen=True, slots=True)
class QueueNeed:
    """Slots that a ring may need, each contact in one of its own and nothing sent meanwhile, and those it has."""

    ring: str
    needed: int
    slots: int

    @property
    def fits(self) -> bool:
        """True when the ring can never be full."""
        return self.needed <= self.slots

    @property
    def words(self) -> str:
        """What it means."""
        if self.fits:
            return "never full"
        return "may be full for a moment: states are made good afterwards, and a stroke within that time can be lost"


def queue_needs(console: ConsoleMessages) -> tuple[QueueNeed, ...]:
    """Return the need of each ring: a tutti of notes, as many pistons as fingers, every stop."""
    needed = {
        "notes": len(tutti(console.keys)),
        "pistons": min(FINGERS, len(console.pistons)),
        "stops": len(console.stops),
    }
    return tuple(QueueNeed(ring, needed[ring], slots) for ring, slots in RING_SLOTS.items())


def note_wait_us_max() -> float:
    """Return the longest time that a note waits on DIN when the wire has just been given something less urgent."""
    return (BYTES_AHEAD + LONGEST_MESSAGE_BYTES) * BYTE_US_MAX
