"""A figure of a part: its least, usual and greatest value, the unit, where it was printed and how it was read there."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from enum import StrEnum


class CatalogueError(ValueError):
    """A catalogue file says something that cannot be used, or does not say what a calculation needs."""


class Read(StrEnum):
    """How a figure came here: read in the source itself, quoted by somebody else, or remembered."""

    IN_SOURCE = "in the source"
    SECONDARY = "secondary"
    FROM_MEMORY = "from memory"


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure with what its source prints of it; a value that the source does not print is None.

    An exact figure (a clock, a memory size) has the same value three times.
    """

    min: float | None
    typ: float | None
    max: float | None
    unit: str
    source: str
    read: Read

    @property
    def least(self) -> float:
        """The least value.  Raises `CatalogueError` when the source prints none."""
        return self._printed(self.min, "least")

    @property
    def usual(self) -> float:
        """The typical value.  Raises `CatalogueError` when the source prints none."""
        return self._printed(self.typ, "typical")

    @property
    def greatest(self) -> float:
        """The greatest value.  Raises `CatalogueError` when the source prints none."""
        return self._printed(self.max, "greatest")

    def _printed(self, value: float | None, word: str) -> float:
        if value is None:
            raise CatalogueError(f"{self.source} prints no {word} value (in {self.unit}) for this figure")
        return value


@dataclass(frozen=True, slots=True)
class SupplyTable:
    """A limit printed at a few supply voltages and, where the source has them, in columns of rising temperature.

    `columns` maps the highest ambient temperature of a column, in °C, to its limits, one for each of `volts`.
    """

    volts: tuple[float, ...]
    columns: dict[int, tuple[float, ...]]
    unit: str
    source: str
    read: Read

    def at(self, volts: float, celsius: float) -> float:
        """Return the limit at a supply voltage, by straight lines between the printed ones.

        The column is the coolest one that covers `celsius`.  Raises `CatalogueError` outside the printed table:
        a limit is never extrapolated.
        """
        limits = self._column(celsius)
        if not self.volts[0] <= volts <= self.volts[-1]:
            raise CatalogueError(
                f"{self.source} prints no limit at {volts:g} V; it covers {self.volts[0]:g} to {self.volts[-1]:g} V"
            )
        right = min(bisect_right(self.volts, volts), len(self.volts) - 1)
        left = right - 1
        share = (volts - self.volts[left]) / (self.volts[right] - self.volts[left])
        return limits[left] + share * (limits[right] - limits[left])

    def _column(self, celsius: float) -> tuple[float, ...]:
        covering = [top for top in sorted(self.columns) if celsius <= top]
        if not covering:
            raise CatalogueError(f"{self.source} prints no limit at {celsius:g} °C; it ends at {max(self.columns)} °C")
        return self.columns[covering[0]]
