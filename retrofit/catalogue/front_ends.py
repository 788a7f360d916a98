"""What only a comparison of front ends asks of the catalogue: leads of a package, expanders on a serial bus, memory."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from retrofit.catalogue.figures import Figure
from retrofit.catalogue.figures_read import FigureReader, Table
from retrofit.catalogue.load import read_parts
from retrofit.catalogue.parts import Expander


@dataclass(frozen=True, slots=True)
class FirmwareMemory:
    """Bytes that the firmware takes on one board: whatever is read, for each lane of eight contacts, for each group.

    `ram_hold` is what each contact takes whose first edge is reported, `ram_stack` the deepest stack.
    """

    board: str
    ram_base: int
    ram_lane: int
    ram_group: int
    ram_hold: int
    flash_base: int
    flash_lane: int
    flash_group: int
    figures: dict[str, Figure]
    ram_stack: int = 0


@cache
def load_packages() -> dict[str, int]:
    """Return the leads of every chip by its id.  Raises `CatalogueError` when the data cannot be used."""
    return read_parts("packages.toml", _data("packages"), lambda _, table, reader: round(reader.figure(table).usual))


@cache
def load_serial_expanders() -> dict[str, Expander]:
    """Return every expander on the serial peripheral bus by its id.  Raises `CatalogueError` when unusable."""
    return read_parts("serial_expanders.toml", _data("serial_expanders"), _expander)


@cache
def load_firmware_memory() -> dict[str, FirmwareMemory]:
    """Return what the firmware occupies, by board.  Raises `CatalogueError` when the data cannot be used."""
    return read_parts("firmware_memory.toml", _data("firmware_memory"), _memory)


def _data(name: str) -> dict[str, Any]:
    return tomllib.loads(files("retrofit.catalogue").joinpath(f"data/{name}.toml").read_text(encoding="utf-8"))


def _expander(part: str, table: Table, reader: FigureReader) -> Expander:
    return Expander(part, table["name"], reader.figures(table["figures"]))


def _memory(part: str, table: Table, reader: FigureReader) -> FirmwareMemory:
    figures = reader.figures(table["bytes"])
    return FirmwareMemory(board=part, figures=figures, **{name: round(f.usual) for name, f in figures.items()})
