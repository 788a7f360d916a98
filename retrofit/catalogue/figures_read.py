"""Turning the small tables of the data files into figures."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from retrofit.catalogue.figures import CatalogueError, Figure, Read, SupplyTable

Table = Mapping[str, Any]


class FigureReader:
    """Reads the figures of one data file; each names its source by a key of the file's own list of sources."""

    def __init__(self, file: str, sources: Mapping[str, str]) -> None:
        self._file = file
        self._sources = sources

    def figure(self, table: Table) -> Figure:
        """Return the figure that a table such as `{min = 20e3, max = 50e3, unit = "Ω", …}` describes.

        `is` stands for an exact value.  Raises `CatalogueError` when the table gives no value, source or confidence.
        """
        exact = table.get("is")
        values = {word: table.get(word, exact) for word in ("min", "typ", "max")}
        if all(value is None for value in values.values()):
            raise self._unusable(table, "has no value")
        return Figure(**values, unit=self._words(table, "unit"), source=self._source(table), read=self._read(table))

    def figures(self, table: Table) -> dict[str, Figure]:
        """Return every figure of a table of figures, by name."""
        return {name: self.figure(entry) for name, entry in table.items()}

    def supply_table(self, table: Table) -> SupplyTable:
        """Return a limit against supply voltage; columns are named `upto_25` and so on, in °C.

        Raises `CatalogueError` when a column does not fit the voltages.
        """
        volts = tuple(table["volts"])
        columns = {int(name.removeprefix("upto_")): tuple(table[name]) for name in table if name.startswith("upto_")}
        if not columns or any(len(column) != len(volts) for column in columns.values()):
            raise self._unusable(table, "has a column that does not fit its voltages")
        return SupplyTable(volts, columns, self._words(table, "unit"), self._source(table), self._read(table))

    def origin(self, table: Table) -> tuple[str, Read]:
        """Return the source that a table names, and how it was read there.

        Raises `CatalogueError` when it says neither.
        """
        return self._source(table), self._read(table)

    def _source(self, table: Table) -> str:
        key = self._words(table, "source")
        if key not in self._sources:
            raise self._unusable(table, f"names a source that the file does not list; it lists {list(self._sources)}")
        return self._sources[key]

    def _read(self, table: Table) -> Read:
        found = self._words(table, "read")
        if found not in list(Read):
            raise self._unusable(table, f"says {found!r} for how it was read; allowed are {[str(r) for r in Read]}")
        return Read(found)

    def _words(self, table: Table, key: str) -> str:
        found = table.get(key)
        if not isinstance(found, str) or not found:
            raise self._unusable(table, f"has no {key}")
        return found

    def _unusable(self, table: Table, what: str) -> CatalogueError:
        return CatalogueError(f"{self._file}: the figure {dict(table)} {what}")
