"""Our own rail: what it must give, and what a meter should show as the boards are fitted one by one."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import ceil, floor

from retrofit.circuits.pullup import PULL_UP_OHMS, PULL_UP_TOLERANCE
from retrofit.circuits.result import Result, Span
from retrofit.circuits.sense.design import Judged
from retrofit.circuits.supplies import judge_rating

SWITCH_OFF_FACTOR = 5 / 3
"""From this many times the greatest expected current on, power is switched off; common practice, no source."""
PULL_UP = Span.around(PULL_UP_OHMS, PULL_UP_TOLERANCE)
"""The resistor that is fitted to each line on the chain."""

ABSORBED = "current that the held lines feed into our rail"


@dataclass(frozen=True, slots=True)
class FittedBoard:
    """A board on our rail: its own current in amperes, and its pull-ups, which conduct while contacts are closed."""

    name: str
    own_amps: Span
    pull_ups: int = 0
    pull_up_ohms: Span = PULL_UP


@dataclass(frozen=True, slots=True)
class OwnRail:
    """The rail: its volts, the boards in the order in which they are fitted, and a bleeder where there is one."""

    volts: Span
    boards: tuple[FittedBoard, ...]
    bleeder_ohms: Span | None = None


@dataclass(frozen=True, slots=True)
class Stage:
    """A stage of the first power-on, every contact open: what the meter should show and when to switch off, in mA."""

    name: str
    expected_ma: Span
    switch_off_ma: float

    @property
    def sentence(self) -> str:
        """What the bench paper says of this stage."""
        least, greatest = floor(self.expected_ma.least), ceil(self.expected_ma.greatest)
        return f"{self.name} fitted: expect {least}-{greatest} mA; over {self.switch_off_ma:.0f} mA switch off"


def pull_up_amps(count: int, volts: float, ohms: float) -> float:
    """Return the current of pull-ups whose contacts are closed: n·VDD/Rpu."""
    return count * volts / ohms


def stages(rail: OwnRail) -> tuple[Stage, ...]:
    """Return the stages in which the rail is first powered: each board on top of those before it, contacts open."""
    return tuple(_stages(rail))


def _stages(rail: OwnRail) -> Iterator[Stage]:
    so_far = _bleeder_amps(rail)
    for board in rail.boards:
        so_far = _sum((so_far, board.own_amps))
        expected = Span(1e3 * so_far.least, 1e3 * so_far.greatest)
        yield Stage(board.name, expected, float(ceil(SWITCH_OFF_FACTOR * ceil(expected.greatest) - 1e-9)))


def total_amps(rail: OwnRail) -> Span:
    """Return the rail's current from every contact open to every pull-up closed."""
    own = _sum((_bleeder_amps(rail), *(board.own_amps for board in rail.boards)))
    closed = sum(pull_up_amps(board.pull_ups, rail.volts.greatest, board.pull_up_ohms.least) for board in rail.boards)
    return Span(own.least, own.greatest + closed)


def judge_rail(rail: OwnRail, rating_amps: float | None) -> Judged:
    """Return the rail's greatest current against the share of the supply's rating that may be drawn."""
    return judge_rating(total_amps(rail).greatest, rating_amps)


def judge_absorbed(rail: OwnRail, injected_amps: float) -> Judged:
    """Return what held lines feed into the rail through their clamps against the least that the rail takes itself."""
    least = total_amps(rail).least
    corner = f"every contact open, rail {rail.volts.least:g} V"
    return Judged(ABSORBED, Result(1e3 * injected_amps, 1e3 * least, "mA", at_least=False, corner=corner))


def _bleeder_amps(rail: OwnRail) -> Span:
    if rail.bleeder_ohms is None:
        return Span.exact(0.0)
    return Span(rail.volts.least / rail.bleeder_ohms.greatest, rail.volts.greatest / rail.bleeder_ohms.least)


def _sum(spans: Sequence[Span]) -> Span:
    return Span(sum(span.least for span in spans), sum(span.greatest for span in spans))
