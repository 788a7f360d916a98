"""An old supply as an open voltage behind a resistance, from readings of its volts at two or more currents.

Every pair of open voltage and resistance that passes through all readings, within the meter's error, is kept: the
corners of that area are what the readings leave possible.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

from retrofit.circuits.result import Span

_TOUCH = 1e-9
"""Relative slack with which a corner of the area counts as lying on it."""


@dataclass(frozen=True, slots=True)
class SupplyReading:
    """Volts of a supply, without their sign, while it gives this current; both with the meter's error."""

    volts: Span
    amps: Span


@dataclass(frozen=True, slots=True)
class SupplyFit:
    """What the readings leave possible, and the line through their middles that fits best."""

    open_volts: Span
    ohms: Span
    likely_open_volts: float
    likely_ohms: float


class SupplyReadingsError(ValueError):
    """Readings from which no source resistance follows; the words say why and what to read."""


@dataclass(frozen=True, slots=True)
class _Bound:
    """A half plane E − amps·R ≥ volts (sign 1) or ≤ volts (sign −1) of open voltage E and resistance R."""

    amps: float
    volts: float
    sign: int

    def kept(self, open_volts: float, ohms: float) -> bool:
        slack = _TOUCH * (abs(open_volts) + abs(self.volts))
        return self.sign * (open_volts - self.amps * ohms - self.volts) >= -slack


def source_ohms(light_volts: float, light_amps: float, heavy_volts: float, heavy_amps: float) -> float:
    """Return the source resistance from two readings: (V1 − V2)/(I2 − I1)."""
    return (light_volts - heavy_volts) / (heavy_amps - light_amps)


def fit_supply(readings: Sequence[SupplyReading]) -> SupplyFit:
    """Return what two or more readings say of a supply.

    Raises `SupplyReadingsError` when they are too few, too near each other, or lie on no one straight line.
    """
    _refuse_too_near(readings)
    corners = list(_area_corners(readings))
    if not corners:
        raise SupplyReadingsError(
            "the readings lie on no straight line of volts against current, even with the meter's error: a regulated "
            "or doubtful supply; read each pair again, volts and current at the same moment"
        )
    ohms = [corner[1] for corner in corners]
    opens = [corner[0] for corner in corners]
    return SupplyFit(Span(min(opens), max(opens)), Span(min(ohms), max(ohms)), *_likely(readings))


def _refuse_too_near(readings: Sequence[SupplyReading]) -> None:
    if any(reading.amps.least < 0 or reading.volts.least <= 0 for reading in readings):
        raise SupplyReadingsError("a reading is below nothing: volts without their sign and currents of 0 A or more")
    lightest = min((reading.amps.greatest for reading in readings), default=0.0)
    heaviest = max((reading.amps.least for reading in readings), default=0.0)
    if heaviest <= lightest:
        raise SupplyReadingsError(
            f"{len(readings)} readings whose currents do not differ by more than the meter's error; "
            "read the volts once at rest and once with everything on, with the current of each"
        )


def _area_corners(readings: Sequence[SupplyReading]) -> Iterator[tuple[float, float]]:
    """Yield open voltage and resistance of every corner of the area that all readings allow."""
    bounds = [bound for reading in readings for bound in _bounds(reading)]
    yield from ((bound.volts, 0.0) for bound in bounds if _allowed(bounds, bound.volts, 0.0))
    for first, second in combinations(bounds, 2):
        if first.amps == second.amps:
            continue
        ohms = (first.volts - second.volts) / (second.amps - first.amps)
        open_volts = first.volts + first.amps * ohms
        if ohms >= 0 and _allowed(bounds, open_volts, ohms):
            yield open_volts, ohms


def _allowed(bounds: Sequence[_Bound], open_volts: float, ohms: float) -> bool:
    return all(bound.kept(open_volts, ohms) for bound in bounds)


def _bounds(reading: SupplyReading) -> tuple[_Bound, _Bound]:
    """The line may cross the reading's box anywhere: above its lowest left and below its highest right corner."""
    return _Bound(reading.amps.least, reading.volts.least, 1), _Bound(reading.amps.greatest, reading.volts.greatest, -1)


def _likely(readings: Sequence[SupplyReading]) -> tuple[float, float]:
    """Return open voltage and resistance of the line with the least squares, never with a resistance below 0 Ω."""
    volts = [_middle(reading.volts) for reading in readings]
    amps = [_middle(reading.amps) for reading in readings]
    mean_volts, mean_amps = sum(volts) / len(volts), sum(amps) / len(amps)
    spread = sum((amp - mean_amps) ** 2 for amp in amps)
    fall = sum((amp - mean_amps) * (volt - mean_volts) for amp, volt in zip(amps, volts, strict=True))
    ohms = max(0.0, -fall / spread)
    return mean_volts + ohms * mean_amps, ohms


def _middle(span: Span) -> float:
    return (span.least + span.greatest) / 2
