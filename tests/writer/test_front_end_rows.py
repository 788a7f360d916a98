"""Rows of multiplexers and expanders in the firmware's table, compiled as they are written."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from retrofit.catalogue.load import load_catalogue
from retrofit.firmware.rows import TableError
from retrofit.firmware.sketch import sketch_files
from retrofit.firmware.table import build_table
from retrofit.plan.build import plan_conversion
from retrofit.plan.model import ConversionPlan
from retrofit.survey.job import Job
from tests.writer.compiling import compile_table

BOARD = load_catalogue().boards["atmega2560"]


def plan_of(**interfaces: str) -> ConversionPlan:
    """Return the plan of an invented console with a manual of 25 keys on each interface."""
    groups: list[dict[str, Any]] = [
        {
            "id": name,
            "kind": "manual",
            "division": name,
            "compass": {"lowest": 36, "count": 25},
            "wiring": {"owner": "us", "contact": "reed", "cable_length": "0.5"},
            "wanted": {"interface": interface, "sense": "pull-up", "multiplexer_inputs": 8},
        }
        for name, interface in interfaces.items()
    ]
    instrument = {"name": "front ends (invented)", "invented": True}
    divisions = [{"id": name} for name in interfaces]
    job = {"format": 1, "instrument": instrument, "divisions": divisions, "groups": groups}
    return plan_conversion(Job.model_validate(job), load_catalogue())


def test_a_bank_names_its_pins_lowest_select_line_first() -> None:
    """Commons on port K, the tenth of the list; select lines on pins 38, 39 and 40, which are D7, G2 and G1."""
    (row,) = build_table(plan_of(great="multiplexer"), BOARD).banks
    assert (row.common_port, row.select_port, row.select_mask) == (9, (3, 6, 6), (0x80, 0x04, 0x02))
    assert row.settle_us >= 5


def test_expanders_stand_by_their_bus_addresses() -> None:
    """25 keys take two expanders, at 0x20 and 0x21; runs name them by their place and begin at port A or B."""
    plan = plan_of(great="expander")
    table = build_table(plan, BOARD)
    assert [row.address for row in table.expanders] == [0x20, 0x21]
    assert [(run.where, run.first_place, run.lane_count) for run in table.runs] == [(0, 0, 2), (1, 0, 2)]
    (group,) = plan.groups
    assert table.sizes.bus_khz == 400
    assert table.sizes.bus_period_ticks * plan.tick_us == group.period_us


def test_the_written_table_compiles(tmp_path: Path) -> None:
    """A console with both kinds of part brings a table that gcc takes with all warnings as errors."""
    table = sketch_files(plan_of(great="multiplexer", swell="expander"), "demo")["console_table.h"].decode()
    outcome = compile_table("gcc", table, tmp_path, "-fsyntax-only")
    assert (outcome.returncode, outcome.stderr) == (0, "")


def test_groups_of_one_bus_that_are_not_sampled_together_are_refused() -> None:
    """A plan in which one of them has another phase does not fit the table."""
    plan = plan_of(great="expander", swell="expander")
    first, second = plan.groups
    with pytest.raises(TableError, match="sampled together"):
        build_table(replace(plan, groups=(first, replace(second, phase=1))), BOARD)
