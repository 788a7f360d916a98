"""Where the time of one press goes: the latency budget of a group, part by part, worst case in microseconds."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from retrofit.survey.wishes import DebounceFamily
from retrofit.timing.debounce import Debounce
from retrofit.timing.latency import EventPath


class Part(StrEnum):
    """What takes time between the first touch of a contact and the end of its message."""

    BOUNCE = "bounce"
    CIRCUIT = "sense circuit"
    SCAN = "scan wait"
    DEBOUNCE = "debounce"
    LANE = "until its lane"
    HANDLING = "handling"
    INTERVAL = "shoe interval"
    WIRE = "wire"


@dataclass(frozen=True, slots=True)
class Budget:
    """The parts of a press in the order in which they pass; a bounce of None is unknown and in no sum."""

    parts: tuple[tuple[Part, float], ...]
    bounce_us: float | None

    @property
    def settled_us(self) -> float:
        """From the last bounce to the end of the message."""
        return sum(time_us for _, time_us in self.parts)

    @property
    def touched_us(self) -> float | None:
        """From the first touch to the end of the message; None while the bounce is unknown."""
        return None if self.bounce_us is None else self.settled_us + self.bounce_us

    @property
    def all_parts(self) -> tuple[tuple[Part, float], ...]:
        """Every part, the bounce first where it is known."""
        first = () if self.bounce_us is None else ((Part.BOUNCE, self.bounce_us),)
        return (*first, *self.parts)


def press_budget(
    debounce: Debounce,
    path: EventPath,
    bounce_us: float | None,
    *,
    circuit_us: float = 0.0,
    interval_us: float = 0.0,
) -> Budget:
    """Return the budget of a press; `interval_us` is what a stage of a shoe may wait for the shoe's next message."""
    samples = 1 if debounce.family is DebounceFamily.FIRST_EDGE else debounce.press
    return Budget(
        parts=(
            (Part.CIRCUIT, circuit_us),
            (Part.SCAN, path.period_us + path.jitter_us),
            (Part.DEBOUNCE, (samples - 1) * path.period_us),
            (Part.LANE, path.until_lane_us),
            (Part.HANDLING, path.handling_us),
            (Part.INTERVAL, interval_us),
            (Part.WIRE, path.message_us),
        ),
        bounce_us=bounce_us,
    )
