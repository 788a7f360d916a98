"""The rows of shoes of 14 bits and of ladders, as the compiler then gets them."""

from __future__ import annotations

import subprocess
from pathlib import Path

import pytest

from retrofit.catalogue.load import load_catalogue
from retrofit.circuits.ladder_stages import ladder_stages
from retrofit.firmware.render import render_table
from retrofit.firmware.rows import LADDER_KEEP, ShoeKind, Table, TableError
from retrofit.firmware.table import build_table
from retrofit.survey.contacts import StepStyle
from tests.firmware.build import CORE
from tests.plan.jobs import FINE_POT, POT, ladder, plan_of, shoes
from tests.tools import require_tool


def table_of(*points: str) -> Table:
    """Return the table of a job of these shoes on an ATmega2560."""
    plan = plan_of(shoes(*points))
    return build_table(plan, load_catalogue().boards[plan.board])


def test_a_fine_shoe_has_values_of_14_bits_and_bounds() -> None:
    """Ends at 0.05 and 0.95 give bounds 0.03 farther out, in counts of 1023."""
    (row,) = table_of(f'id = "swell", {FINE_POT}').shoes
    assert (row.kind, row.fine, row.controller) == (ShoeKind.CONVERTER, 1, 11)
    assert row.curve_values == (0, 16383)
    assert (row.lowest, row.highest) == (round(0.02 * 1023), round(0.98 * 1023))


def test_a_coarse_shoe_without_ends_has_neither() -> None:
    """Seven bits, and every reading may be a position."""
    (row,) = table_of('id = "swell", sensor = "potentiometer"').shoes
    assert (row.fine, row.lowest, row.highest, row.curve_values) == (0, 0, 1023, (0, 127))


def test_a_ladder_has_a_stretch_for_each_position() -> None:
    """Thirteen stretches rise to full scale, values fall from 127 to 0, and the bounds leave out a broken line."""
    table = table_of(ladder(), f'id = "solo", {POT}')
    row, _ = table.shoes
    assert (row.kind, row.stage_count, row.first_stage, row.controller) == (ShoeKind.LADDER, 13, 0, 11)
    assert [step.value for step in table.ladders] == [127, 116, 106, 95, 85, 74, 64, 53, 42, 32, 21, 11, 0]
    assert table.ladders[-1].last == 1023
    assert (row.lowest, row.highest) == (0, round((12120 / (12120 + 4653) + 0.03) * 1023))
    assert (table.sizes.ladder_rows, table.sizes.converter_bits) == (13, 10)


def test_readings_that_agree_span_ten_milliseconds() -> None:
    """Two channels are read every four ticks each: readings in a row that span 10 ms, and one more."""
    plan = plan_of(shoes(ladder(), f'id = "solo", {POT}'))
    row = build_table(plan, load_catalogue().boards[plan.board]).shoes[0]
    period_us = 4 * plan.tick_us
    assert (row.hysteresis - 2) * period_us < 10_000 <= (row.hysteresis - 1) * period_us


def test_a_selective_ladder_keeps_between_two_contacts() -> None:
    """The stretch with no contact closed holds no value."""
    table = table_of(ladder().replace('sensor = "ladder"', 'sensor = "ladder", style = "selective"'))
    assert table.ladders[-1].value == LADDER_KEEP
    assert [step.value for step in table.ladders].count(LADDER_KEEP) == 1


def test_two_ladders_follow_each_other() -> None:
    """The second ladder's stretches begin where those of the first end."""
    table = table_of(ladder(), ladder().replace('"swell"', '"choir"'))
    assert [row.first_stage for row in table.shoes] == [0, 13]
    assert table.ladders[:13] != table.ladders[13:]
    assert [step.last for step in table.ladders[:13]] == [step.last for step in table.ladders[13:]]


def test_a_ladder_that_is_not_read_makes_no_table() -> None:
    """Without its resistors there is no table, and the shoe is named."""
    with pytest.raises(TableError, match=r"shoes\.swell: what its contacts read is not known"):
        table_of(ladder(rest="tolerance = 0.01"))


@pytest.mark.parametrize(
    "wrong",
    [
        ("BELOW(controller_is_above_119, 11 + 32 * 1", "BELOW(controller_is_above_119, 32 + 32 * 1"),
        ("13, LADDER_ROWS - 0", "14, LADDER_ROWS - 0"),
    ],
)
def test_the_compiler_refuses_what_the_core_cannot_hold(tmp_path: Path, wrong: tuple[str, str]) -> None:
    """A fine shoe on controller 32 and a ladder that ends outside its rows do not compile; the table itself does."""
    text = render_table(
        table_of(ladder().replace('"swell"', '"choir"'), f'id = "swell", {FINE_POT}, message = {{ controller = 11 }}')
    )
    assert compiles(tmp_path, text)
    assert text.count(wrong[0]) == 1
    assert not compiles(tmp_path, text.replace(*wrong))


def compiles(folder: Path, text: str) -> bool:
    """Return whether gcc takes a table."""
    (folder / "console_table.h").write_text(text, encoding="utf-8")
    flags = ["-std=c99", "-Wall", "-Wextra", "-pedantic", "-Werror", "-fsyntax-only", f"-I{folder}", f"-I{CORE}"]
    done = subprocess.run([require_tool("gcc", "gcc"), *flags, CORE / "tables.c"], capture_output=True, check=False)
    return done.returncode == 0


def test_stages_of_the_table_are_those_of_the_ladder() -> None:
    """The comment of each row names its position."""
    found = plan_of(shoes(ladder())).points[0].point.shoe
    assert found is not None
    assert found.ladder is not None
    names = [stage.name for stage in ladder_stages(found.ladder, StepStyle.PROGRESSIVE, 0.2)]
    assert [row.place for row in table_of(ladder()).ladders] == names
