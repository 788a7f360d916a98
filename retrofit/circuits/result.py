"""A computed figure beside its limit, with the corner that decided it and what had to be assumed."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from itertools import product

from retrofit.circuits.quantity import quantity


@dataclass(frozen=True, slots=True)
class Result:
    """A worst-case figure and its limit, both in `unit`.

    `at_least` is True when the figure must not be below the limit, False when it must not be above.
    """

    value: float
    limit: float
    unit: str
    at_least: bool
    corner: str
    assumptions: tuple[str, ...] = ()

    @property
    def figure(self) -> str:
        """The figure in words: `2.28 % of keyed current`."""
        return quantity(self.value, self.unit)

    @property
    def bound(self) -> str:
        """The limit in words: `at most 5 % of keyed current`."""
        return f"{'at least' if self.at_least else 'at most'} {quantity(self.limit, self.unit)}"

    @property
    def margin(self) -> float:
        """Distance to the limit, negative when it is broken."""
        return self.value - self.limit if self.at_least else self.limit - self.value

    @property
    def margin_percent(self) -> float | None:
        """The margin in percent of the limit; None when the limit is zero."""
        return 100 * self.margin / abs(self.limit) if self.limit else None

    @property
    def passes(self) -> bool:
        """True when the limit is kept."""
        return self.margin >= 0


@dataclass(frozen=True, slots=True)
class Span:
    """A quantity between its least and its greatest value."""

    least: float
    greatest: float

    @classmethod
    def exact(cls, value: float) -> Span:
        """Return the span of a quantity without tolerance."""
        return cls(value, value)

    @classmethod
    def around(cls, value: float, tolerance: float) -> Span:
        """Return a value with a relative tolerance both ways (0.05 for 5 %)."""
        return cls(value * (1 - tolerance), value * (1 + tolerance))


def corners(**spans: Span) -> Iterable[dict[str, float]]:
    """Yield every combination of ends of the spans; exact quantities have one end."""
    ends = [dict.fromkeys((span.least, span.greatest)) for span in spans.values()]
    return (dict(zip(spans, values, strict=True)) for values in product(*ends))


def worst_corner(
    compute: Callable[..., float], *, lowest: bool, units: Mapping[str, str], **spans: Span
) -> tuple[float, str]:
    """Return the lowest or highest value of `compute` over the corners of its arguments, and that corner in words.

    `units` names the unit of each argument for the words, which leave out what is zero at every corner.
    """
    found = [(compute(**corner), corner) for corner in corners(**spans)]
    value, corner = (min if lowest else max)(found, key=lambda pair: pair[0])
    told = {name: number for name, number in corner.items() if spans[name] != Span.exact(0.0)}
    return value, ", ".join(
        f"{name.replace('_', ' ')} {quantity(number, units[name])}" for name, number in told.items()
    )
