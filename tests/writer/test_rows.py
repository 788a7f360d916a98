"""The rows of the table against the hand-written C headers that they follow."""

from __future__ import annotations

import re
from dataclasses import fields
from enum import IntEnum
from typing import Any

import pytest

from retrofit.firmware.rows import (
    TABLE_FORMAT,
    Duty,
    Family,
    GroupRow,
    LaneRow,
    MatrixRow,
    MessageRow,
    Row,
    RunRow,
    RunSource,
    ShoeKind,
    ShoeRow,
    Sizes,
    TableError,
)
from retrofit.firmware.table import build_table
from tests.writer.compiling import CORE, board
from tests.writer.plans import bench_plan

SHAPE = (CORE / "table_shape.h").read_text(encoding="utf-8")
CHECKS = (CORE / "table_checks.h").read_text(encoding="utf-8")


def test_the_format_number_is_that_of_the_core() -> None:
    """The writer and the core speak of the same format."""
    assert f"#define TABLE_FORMAT {TABLE_FORMAT}\n" in SHAPE


@pytest.mark.parametrize(
    ("tag", "values"), [("source", RunSource), ("family", Family), ("duty", Duty), ("shoe_kind", ShoeKind)]
)
def test_enumerators_are_those_of_the_core(tag: str, values: type[IntEnum]) -> None:
    """Every enumerator has the same name and number in C."""
    body = re.search(rf"enum {tag} \{{(.*?)\}}", SHAPE, re.DOTALL)
    assert body is not None
    prefix = tag.split("_", maxsplit=1)[0].upper()
    found = {name: int(number) for name, number in re.findall(r"(\w+) = (\d+)", body[1])}
    assert found == {f"{prefix}_{value.name}": value.value for value in values}


@pytest.mark.parametrize(
    ("tag", "row"),
    [
        ("run", RunRow),
        ("group", GroupRow),
        ("lane", LaneRow),
        ("message", MessageRow),
        ("matrix", MatrixRow),
        ("shoe", ShoeRow),
    ],
)
def test_rows_have_the_fields_of_the_structures(tag: str, row: type[Row]) -> None:
    """Every field of a C structure is a field of its row, but for counts that follow from the row's own lists."""
    body = re.search(rf"struct {tag} \{{(.*?)\n\}};", SHAPE, re.DOTALL)
    assert body is not None
    in_c = set(re.findall(r"uint(?:8|16)_t (\w+)", body[1])) - {"row_count", "curve_count"}
    own = {field.name for field in fields(row)} - {field.name for field in fields(Row)}
    assert in_c == own


def test_sizes_keep_the_limits_of_the_core() -> None:
    """Sizes just beyond what table_checks.h allows are refused here already, by name."""
    limits = {name: int(high) for name, high in re.findall(r"([A-Z_]+) <= (\d+)\)", CHECKS)}
    assert {"LANE_COUNT", "RUN_COUNT", "POWER_ON_TICKS", "SHOE_INTERVAL_TICKS", "COUNTER_PLANES"} <= set(limits)
    good = {name.lower(): value for name, value in build_table(bench_plan(), board()).sizes.macros()}
    for name, high in limits.items():
        Sizes(subject="x", **good | {name.lower(): high})
        with pytest.raises(TableError, match=f"{name.lower().replace('_', ' ')} is {high + 1}"):
            Sizes(subject="x", **good | {name.lower(): high + 1})


@pytest.mark.parametrize(
    ("row", "values", "words"),
    [
        (LaneRow, {"used": 256, "invert": 0}, "great: used is 256; the firmware's table holds 0 to 255"),
        (LaneRow, {"used": 0, "invert": -1}, "great: invert is -1"),
        (MessageRow, {"on": (0x90, 300, 0)}, "great: on is 300"),
    ],
)
def test_a_value_that_does_not_fit_is_named(row: type[Row], values: dict[str, Any], words: str) -> None:
    """The message says whose value it is, what was found and what the C type holds."""
    with pytest.raises(TableError, match=words) as refused:
        row(subject="great", **values)
    assert refused.value.subject == "great"
