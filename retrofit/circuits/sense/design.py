"""A sense circuit worked out for a line: parts, judged figures, what the line feels, and reasons for refusal."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from retrofit.circuits.result import Result


class Verdict(StrEnum):
    """How a figure or a design stands."""

    GOOD = "good"
    NARROW = "narrow"
    FAILS = "fails"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class Part:
    """A component of the circuit, with its value in the base unit and what it must bear.

    `role` says where it sits ("in series with the line"); `rating` is in words ("0.25 W, 200 V").
    """

    role: str
    kind: str
    value: float
    unit: str
    tolerance: float
    rating: str = ""


@dataclass(frozen=True, slots=True)
class Judged:
    """A figure with its limit, in words.  `result` is None when something it needs is unknown: `missing` says what.

    `good_from` is the margin, in the result's own unit, from which it is more than narrow.
    """

    criterion: str
    result: Result | None
    missing: str = ""
    good_from: float = 0.0

    @property
    def verdict(self) -> Verdict:
        """Good, narrow, failing, or unknown."""
        if self.result is None:
            return Verdict.UNKNOWN
        if not self.result.passes:
            return Verdict.FAILS
        return Verdict.GOOD if self.result.margin >= self.good_from else Verdict.NARROW


@dataclass(frozen=True, slots=True)
class Felt:
    """Current in microamperes that one line feels from our board, worst case, positive out of the line.

    `on`: board powered, line keyed.  `idle`: board powered, line idle.  `off`: board's supply dead.  `open`: board's
    ground lead off.  `shorted`: the sense input shorted to the board's ground (`shorted_rail`: to its supply).
    None where unknown.
    """

    on_ua: float | None
    idle_ua: float | None
    off_ua: float | None
    open_ua: float | None
    shorted_ua: float | None
    shorted_rail_ua: float | None


@dataclass(frozen=True, slots=True)
class SenseDesign:
    """One circuit worked out for one kind of line.

    `circuit` is its plain name.  `looks_only` is True when it can never feed the line beyond the currents in `felt`.
    `keyed_reads_high` is the level at the input.  `release_delay_us` is added by the circuit after the line has
    changed.  `gap_us` is how long the input can read released while the line stays keyed: debounce must outlast it.
    `refusals` are reasons in words; a design with refusals is never chosen.
    """

    circuit: str
    looks_only: bool
    keyed_reads_high: bool | None
    parts: tuple[Part, ...]
    judged: tuple[Judged, ...]
    felt: Felt
    press_delay_us: float = 0.0
    release_delay_us: float = 0.0
    refusals: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()
    gap_us: float = 0.0

    @property
    def verdict(self) -> Verdict:
        """The worst of its judged figures; failing when it is refused."""
        if self.refusals:
            return Verdict.FAILS
        order = (Verdict.FAILS, Verdict.UNKNOWN, Verdict.NARROW)
        found = {judged.verdict for judged in self.judged}
        return next((verdict for verdict in order if verdict in found), Verdict.GOOD)

    @property
    def worst(self) -> Judged | None:
        """The judged figure with the least margin in percent of its limit."""
        known = [(_relative_margin(judged.result), judged) for judged in self.judged if judged.result is not None]
        return min(known, key=lambda pair: pair[0])[1] if known else None


def _relative_margin(result: Result) -> float:
    percent = result.margin_percent
    return percent if percent is not None else result.margin
