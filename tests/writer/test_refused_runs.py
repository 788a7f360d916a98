"""Three exclamation marks in a row, wherever the numbers of a table would make them."""

from __future__ import annotations

from dataclasses import replace

import pytest

from retrofit.firmware.refused_runs import tables_with_refused_run
from retrofit.firmware.render import render_table
from retrofit.firmware.rows import LaneRow
from retrofit.firmware.table import build_table
from retrofit.firmware.table_notes import table_notes
from tests.writer.compiling import board
from tests.writer.plans import bench_plan

ROWS = "const uint8_t some_table[] TABLE_IN_FLASH = {{\n{}\n}};\n"


@pytest.mark.parametrize("rows", ["33, 33, 33", "{33, FITS_8(33)}, /* 4 */\n {0x21}", "8481, 33"])
def test_a_run_is_found_across_rows_and_numbers(rows: str) -> None:
    """Comments and brackets do not part the numbers, and a 16-bit number is two bytes."""
    assert tables_with_refused_run(ROWS.format(rows)) == ("some_table",)


@pytest.mark.parametrize("rows", ["33, 33, 0, 33", "33, /* 33 */ 33, 1", "FITS_33(33), 33", "33, 0x2120, 33"])
def test_what_is_no_run_is_not_taken_for_one(rows: str) -> None:
    """Numbers in comments and names do not count."""
    assert tables_with_refused_run(ROWS.format(rows)) == ()


def test_the_table_of_a_real_console_is_looked_through() -> None:
    """The bench console has no run; with two lanes that use and reverse bits 0 and 5 it has one, named by its table."""
    table = build_table(bench_plan(), board())
    assert tables_with_refused_run(render_table(table)) == ()
    lane = LaneRow(subject="great", used=0x21, invert=0x21)
    assert tables_with_refused_run(render_table(replace(table, lanes=(lane, lane)))) == ("lane_table",)


def test_the_sketch_says_what_it_keeps_and_what_may_be_refused() -> None:
    """The bytes of the description are said in every case, a suspected run only where there is one."""
    table = build_table(bench_plan(), board())
    kept, *rest = table_notes(table, render_table(table))
    assert f"{len(table.job_description)} bytes, revision {table.job_revision}" in kept
    assert rest == []
    lane = LaneRow(subject="great", used=0x21, invert=0x21)
    bare = replace(table, lanes=(lane, lane), job_description=b"")
    kept, refused = table_notes(bare, render_table(bare))
    assert "keeps no job description" in kept
    assert "may stand in lane_table" in refused
