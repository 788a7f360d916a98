"""Optocouplers and the zener diodes that give them a threshold, read from the package's own data files once."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from retrofit.catalogue.figures import Figure
from retrofit.catalogue.figures_read import FigureReader, Table
from retrofit.catalogue.load import read_parts


@dataclass(frozen=True, slots=True)
class Optocoupler:
    """A coupler with a transistor output; `both_ways` when its input conducts in either direction."""

    id: str
    name: str
    both_ways: bool
    figures: dict[str, Figure]


@dataclass(frozen=True, slots=True)
class Zener:
    """A zener diode: its voltage at the printed test current, and its leakage below it."""

    id: str
    name: str
    figures: dict[str, Figure]


@cache
def load_optocouplers() -> dict[str, Optocoupler]:
    """Return every optocoupler by its id.  Raises `CatalogueError` when the data cannot be used."""
    return read_parts("optocouplers.toml", _data("optocouplers"), _optocoupler)


@cache
def load_zeners() -> dict[str, Zener]:
    """Return every zener diode by its id, lowest voltage first.  Raises `CatalogueError` when unusable."""
    return read_parts("zeners.toml", _data("zeners"), _zener)


def _data(name: str) -> dict[str, Any]:
    return tomllib.loads(files("retrofit.catalogue").joinpath(f"data/{name}.toml").read_text(encoding="utf-8"))


def _optocoupler(part: str, table: Table, reader: FigureReader) -> Optocoupler:
    return Optocoupler(part, table["name"], bool(table["both_ways"]), reader.figures(table["figures"]))


def _zener(part: str, table: Table, reader: FigureReader) -> Zener:
    return Zener(part, table["name"], reader.figures(table["figures"]))
