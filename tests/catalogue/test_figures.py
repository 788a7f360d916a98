"""Every figure of the catalogue says where it comes from, and what is not printed is never made up."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from itertools import pairwise
from typing import Any

import pytest

from retrofit.catalogue.figures import CatalogueError, Figure, Read, SupplyTable
from retrofit.catalogue.figures_read import FigureReader
from retrofit.catalogue.load import load_catalogue, read_parts
from retrofit.catalogue.parts import Board

UNITS = {
    "A", "F", "Hz", "MHz", "V", "bits", "bytes", "cycles", "half periods", "mA", "ms", "ns", "ns/m", "of supply",
    "pF/m", "s", "Ω", "°C",
}  # fmt: skip
READER = FigureReader("file.toml", {"sheet": "A data sheet, page 1"})
GOOD = {"min": 1, "max": 2, "unit": "V", "source": "sheet", "read": "secondary"}


def figures_within(value: object, path: str) -> Iterator[tuple[str, Figure | SupplyTable]]:
    """Yield every figure inside a value, however deep, with where it was found."""
    if isinstance(value, Figure | SupplyTable):
        yield path, value
    elif isinstance(value, dict):
        for key, entry in value.items():
            yield from figures_within(entry, f"{path}.{key}")
    elif isinstance(value, tuple):
        for index, entry in enumerate(value):
            yield from figures_within(entry, f"{path}[{index}]")
    elif is_dataclass(value):
        for part in fields(value):
            yield from figures_within(getattr(value, part.name), f"{path}.{part.name}")


def unsourced(figure: Figure | SupplyTable) -> bool:
    """Return whether a figure lacks its source, its confidence or a unit that is used here."""
    return not figure.source or figure.read not in Read or figure.unit not in UNITS


def test_every_figure_has_source_confidence_and_unit() -> None:
    """No figure of any part stands without a source, a confidence and a unit from the list."""
    found = dict(figures_within(load_catalogue(), "catalogue"))
    assert len(found) > 100
    assert [path for path, figure in found.items() if unsourced(figure)] == []


def test_a_figure_without_a_source_is_noticed() -> None:
    """The walk above notices a bare figure however deep it lies."""
    bare = Figure(1, 1, 1, "V", "", Read.IN_SOURCE)
    found = dict(figures_within({"a": ({"b": bare},)}, "x"))
    assert [path for path, figure in found.items() if unsourced(figure)] == ["x.a[0].b"]


def test_least_usual_and_greatest_are_in_order() -> None:
    """No figure has a least value above its typical or greatest one."""
    found = dict(figures_within(load_catalogue(), "catalogue"))
    for path, figure in found.items():
        if isinstance(figure, Figure):
            printed = [value for value in (figure.min, figure.typ, figure.max) if value is not None]
            assert printed, path
            assert printed == sorted(printed), path


def test_limits_get_worse_with_temperature() -> None:
    """A hotter column of a table never promises more than a cooler one (74HC165: longer times, lower clock)."""
    for register in load_catalogue().registers.values():
        for name in ("propagation_ns", "clock_width_ns"):
            columns = [getattr(register, name).columns[top] for top in (25, 85, 125)]
            for cooler, hotter in pairwise(columns):
                assert all(cool <= hot for cool, hot in zip(cooler, hotter, strict=True)), name
        assert register.clock_max_mhz.columns[25] > register.clock_max_mhz.columns[125]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"source": ""}, "has no source"),
        ({"source": "rumour"}, "does not list"),
        ({"read": "heard"}, "'heard'"),
        ({"unit": ""}, "has no unit"),
        ({"min": None, "max": None}, "has no value"),
    ],
)
def test_a_figure_that_hides_something_is_refused(change: dict[str, object], words: str) -> None:
    """A figure without source, confidence, unit or value is refused, naming the file."""
    with pytest.raises(CatalogueError, match=rf"file\.toml: .*{words}"):
        READER.figure(GOOD | change)


def test_a_column_that_does_not_fit_is_refused() -> None:
    """A column with fewer limits than voltages is refused."""
    table = {"volts": [2.0, 4.5], "upto_25": [1.0], "unit": "ns", "source": "sheet", "read": "secondary"}
    with pytest.raises(CatalogueError, match="does not fit its voltages"):
        READER.supply_table(table)


def test_a_part_that_lacks_a_field_is_named() -> None:
    """A part without what its kind needs is named with its file."""
    data: dict[str, Any] = {"sources": {}, "parts": {"thing": {}}}
    with pytest.raises(CatalogueError, match=r"cables\.toml: part thing .*'name'"):
        read_parts("cables.toml", data, lambda part, table, _: f"{part}{table['name']}")


def test_a_value_that_is_not_printed_is_not_made_up() -> None:
    """Asking for a value that the source does not print is refused, naming the source."""
    figure = READER.figure(GOOD)
    assert (figure.least, figure.greatest) == (1, 2)
    with pytest.raises(CatalogueError, match="A data sheet, page 1 prints no typical value"):
        _ = figure.usual


def test_an_exact_figure_is_the_same_three_times() -> None:
    """`is` gives least, typical and greatest at once."""
    figure = READER.figure({"is": 3, "unit": "V", "source": "sheet", "read": "from memory"})
    assert (figure.least, figure.usual, figure.greatest) == (3, 3, 3)


def test_the_board_asked_for_by_default_is_there() -> None:
    """The board of a new job has its costs, and a register and cables to go with it."""
    catalogue = load_catalogue()
    assert isinstance(catalogue.boards["atmega2560"], Board)
    assert set(catalogue.firmware_costs) == set(catalogue.boards)
    assert {"74hc165"} <= set(catalogue.registers)
    assert {"unknown"} <= set(catalogue.cables) & set(catalogue.contacts)
