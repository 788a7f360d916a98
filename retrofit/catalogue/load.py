"""Reading the catalogue from the package's own data files, once."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any, TypeVar

from retrofit.catalogue.figures import CatalogueError
from retrofit.catalogue.figures_read import FigureReader, Table
from retrofit.catalogue.parts import (
    Board,
    Cable,
    Cleanliness,
    Contact,
    Diode,
    Expander,
    FirmwareCosts,
    ForwardDrop,
    MidiSocket,
    Multiplexer,
    Pin,
    Pinout,
    Register,
)

Part = TypeVar("Part")
Build = Callable[[str, Table, FigureReader], Part]


@dataclass(frozen=True, slots=True)
class Catalogue:
    """Every part by its id."""

    boards: dict[str, Board]
    registers: dict[str, Register]
    diodes: dict[str, Diode]
    contacts: dict[str, Contact]
    cables: dict[str, Cable]
    multiplexers: dict[str, Multiplexer]
    expanders: dict[str, Expander]
    firmware_costs: dict[str, FirmwareCosts]


@cache
def load_catalogue() -> Catalogue:
    """Return the catalogue.  Raises `CatalogueError` naming the file when its data cannot be used."""
    return Catalogue(
        boards=_read_file("boards", _board),
        registers=_read_file("registers", _register),
        diodes=_read_file("diodes", _diode),
        contacts=_read_file("contacts", _contact),
        cables=_read_file("cables", _cable),
        multiplexers=_read_file("multiplexers", _multiplexer),
        expanders=_read_file("expanders", _expander),
        firmware_costs=_read_file("firmware_costs", _firmware_costs),
    )


def _read_file(name: str, build: Build[Part]) -> dict[str, Part]:
    text = files("retrofit.catalogue").joinpath(f"data/{name}.toml").read_text(encoding="utf-8")
    return read_parts(f"{name}.toml", tomllib.loads(text), build)


def read_parts(file: str, data: Mapping[str, Any], build: Build[Part]) -> dict[str, Part]:
    """Return the parts of one data file by id.  Raises `CatalogueError` naming the file and the part."""
    reader = FigureReader(file, data["sources"])
    parts = {}
    for part, table in data["parts"].items():
        try:
            parts[part] = build(part, table, reader)
        except (KeyError, TypeError) as error:
            raise CatalogueError(f"{file}: part {part} cannot be used: {error!r}") from error
    return parts


def _board(part: str, table: Table, reader: FigureReader) -> Board:
    return Board(
        id=part,
        name=table["name"],
        ports=tuple(table["ports"]),
        pins=tuple(_pins(table)),
        figures=reader.figures(table["figures"]),
        spi_dividers=tuple(table["spi_dividers"]),
        chain_pins=dict(table["chain_pins"]),
        midi_socket=_midi_socket(table["midi_socket"], reader),
        bus_pins=dict(table["bus_pins"]),
        strobe_ports=tuple(table.get("strobe_ports", ())),
        midi_outlets=tuple(table["midi_outlets"]),
    )


def _midi_socket(table: Table, reader: FigureReader) -> MidiSocket:
    supply, data = (reader.figure(table.get(leg, table["series"])) for leg in ("series", "series_data"))
    return MidiSocket(table["supply"], table["data"], table["shield"], supply, data)


def _pins(table: Table) -> list[Pin]:
    reserved, converters = table["reserved"], table["converters"]
    channels = {name: channel for channel, name in enumerate(converters)}
    return [
        Pin(name, place[0], int(place[1]), reserved.get(name), channels.get(name))
        for name, place in table["pins"].items()
    ]


def _register(part: str, table: Table, reader: FigureReader) -> Register:
    limits = {name: reader.supply_table(entry) for name, entry in table["limits"].items()}
    figures, pinout = reader.figures(table["figures"]), _pinout(table["pinout"], reader)
    return Register(id=part, name=table["name"], figures=figures, pinout=pinout, **limits)


def _pinout(table: Table, reader: FigureReader) -> Pinout:
    source, read = reader.origin(table)
    pins = {name: pin for name, pin in table.items() if name not in ("inputs", "source", "read")}
    return Pinout(inputs=tuple(table["inputs"]), source=source, read=read, **pins)


def _diode(part: str, table: Table, reader: FigureReader) -> Diode:
    forward = tuple(ForwardDrop(current, reader.figure(entry)) for current, entry in _forward_rows(table))
    return Diode(id=part, name=table["name"], forward=forward, figures=reader.figures(table["figures"]))


def _forward_rows(table: Table) -> list[tuple[float, Table]]:
    shared = {key: table["forward"][key] for key in ("unit", "source", "read")}
    return [(current, {"max": volts, **shared}) for current, volts in table["forward"]["ma_and_volts_max"]]


def _contact(part: str, table: Table, reader: FigureReader) -> Contact:
    def optional(name: str) -> Any:
        return reader.figure(table[name]) if name in table else None

    return Contact(
        id=part,
        name=table["name"],
        cleanliness=Cleanliness(table["cleanliness"]),
        bounce=optional("bounce"),
        least_volts=optional("least_volts"),
        least_ma=optional("least_ma"),
    )


def _cable(part: str, table: Table, reader: FigureReader) -> Cable:
    return Cable(id=part, name=table["name"], **reader.figures(table["figures"]))


def _multiplexer(part: str, table: Table, reader: FigureReader) -> Multiplexer:
    return Multiplexer(part, table["name"], table["inputs"], reader.figures(table["figures"]))


def _expander(part: str, table: Table, reader: FigureReader) -> Expander:
    return Expander(part, table["name"], reader.figures(table["figures"]))


def _firmware_costs(part: str, table: Table, reader: FigureReader) -> FirmwareCosts:
    figures = reader.figures(table["cycles"])
    return FirmwareCosts(board=part, figures=figures, **{name: round(f.usual) for name, f in figures.items()})
