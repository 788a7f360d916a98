"""The generated file: it compiles without a warning, says what the plan says, and no name can change it."""

from __future__ import annotations

import ctypes
import re
from dataclasses import replace
from itertools import cycle
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TypeVar

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from retrofit.firmware.escape import visible
from retrofit.firmware.render import environment, render_table
from retrofit.firmware.rows import Row, Table
from retrofit.firmware.table import build_table
from tests.tools import require_tool
from tests.writer.compiling import board, compile_table, without_comments
from tests.writer.plans import bench_plan
from tests.writer.test_table import shoe_only_plan

TABLE = build_table(bench_plan(), board())
TEXT = render_table(TABLE)
COMPILERS = ["gcc", "clang"]
R = TypeVar("R", bound=Row)


@pytest.mark.parametrize("compiler", COMPILERS)
@pytest.mark.parametrize("table", [TABLE, build_table(shoe_only_plan(), board())], ids=["one of each", "one shoe"])
def test_tables_compile_without_a_warning(compiler: str, table: Table, tmp_path: Path) -> None:
    """With and without rows, both compilers take the file as strict C99 with all warnings as errors."""
    require_tool(compiler, compiler)
    outcome = compile_table(compiler, render_table(table), tmp_path, "-fsyntax-only")
    assert (outcome.returncode, outcome.stderr) == (0, "")


def test_tables_compile_for_the_controller(tmp_path: Path) -> None:
    """The controller's own compiler, where an int has 16 bits, takes the file too and puts all of it into flash."""
    require_tool("avr-gcc", "gcc-avr")
    out = tmp_path / "tables.o"
    outcome = compile_table("avr-gcc", TEXT, tmp_path, "-mmcu=atmega2560", "-Os", "-c", "-o", str(out))
    assert (outcome.returncode, outcome.stderr) == (0, "")


class CGroup(ctypes.Structure):
    """`struct group`, field by field."""

    _fields_ = (
        *((name, ctypes.c_uint8) for name in ("family", "press_count", "release_count", "hold_count")),
        *((name, ctypes.c_uint8) for name in ("divider_log2", "phase", "duty", "shoe")),
        ("hold_first", ctypes.c_uint16),
        ("hold_slots", ctypes.c_uint16),
    )


def test_the_compiled_table_says_what_the_rows_say(tmp_path: Path) -> None:
    """Compiled by gcc and read back from the library, messages, lanes, groups and names are those of the plan."""
    require_tool("gcc", "gcc")
    path = tmp_path / "tables.so"
    assert compile_table("gcc", TEXT, tmp_path, "-shared", "-fPIC", "-o", str(path)).returncode == 0
    library = ctypes.CDLL(str(path))
    messages = (ctypes.c_uint8 * 6 * len(TABLE.messages)).in_dll(library, "message_table")
    lanes = (ctypes.c_uint8 * 2 * len(TABLE.lanes)).in_dll(library, "lane_table")
    groups = (CGroup * len(TABLE.groups)).in_dll(library, "group_table")
    names = [field[0] for field in CGroup._fields_]
    assert [tuple(row) for row in messages] == [row.on + row.off for row in TABLE.messages]
    assert [tuple(row) for row in lanes] == [(row.used, row.invert) for row in TABLE.lanes]
    assert [[getattr(row, n) for n in names] for row in groups] == [
        [getattr(row, n) for n in names] for row in TABLE.groups
    ]
    assert _string(library, "job_name") == "Bench console"
    assert _string(library, "job_digest") == "0123456789abcdef"


def _string(library: ctypes.CDLL, name: str) -> str:
    address = ctypes.addressof(ctypes.c_char.in_dll(library, name))
    return ctypes.string_at(address).decode()


@pytest.mark.parametrize(
    ("good", "bad", "words"),
    [
        ("#define TABLE_FORMAT_OF_FILE 3", "#define TABLE_FORMAT_OF_FILE 4", "different formats"),
        ("LANE(0x03, 0x02)", "LANE(0x103, 0x02)", "value_does_not_fit_8_bits"),
        ("LANE(0x03, 0x02)", "LANE(0x03, -1)", "value_does_not_fit_8_bits"),
        ("MESSAGE(0x90, 0x25", "MESSAGE(0x190, 0x25", "value_does_not_fit_8_bits"),
        ("FITS_16(888)", "FITS_16(65536)", "value_does_not_fit_16_bits"),
        ("RUN(SOURCE_PORT, 10, 7, 1, 3", "RUN(SOURCE_PORT, 10, 8, 1, 3", "run_begins_outside_the_lanes"),
        ("RUN(SOURCE_PORT, 10, 7, 1, 3", "RUN(SOURCE_PORT, 10, 7, 2, 3", "run_ends_outside_the_lanes"),
        ("RUN(SOURCE_PORT, 10, 7, 1, 3", "RUN(SOURCE_PORT, 10, 7, 1, 5", "run_names_no_group"),
        ("COUNTED, 2, 20", "COUNTED, 32, 20", "press_count_needs_more_planes"),
        ("COUNTED, 2, 20", "COUNTED, 2, 32", "release_count_needs_more_planes"),
        ("15, 15, 0, 2, 3", "15, 15, 0, 7, 3", "divider_is_above_64"),
        ("15, 15, 0, 2, 3", "15, 15, 0, 2, 4", "phase_is_never_reached"),
        ("DUTY_STAGES, 1", "DUTY_STAGES, 2", "group_names_no_shoe"),
        ("DUTY_NOTES, 0, 10, 9", "DUTY_NOTES, 0, 11, 9", "hold_offs_end_outside_their_slots"),
        ("matrix_has_more_than_8_rows, 3", "matrix_has_more_than_8_rows, 9", "matrix_has_more_than_8_rows"),
        ("controller_is_above_119, 11", "controller_is_above_119, 120", "controller_is_above_119"),
        ("outside_their_table, 3", "outside_their_table, 4", "stages_end_outside_their_table"),
        ("curve_has_too_many_points, 2", "curve_has_too_many_points, 9", "curve_has_too_many_points"),
        ("STAGE(26)", "STAGE(64)", "stage_is_outside_the_lanes"),
        ("channel_is_above_15, 2", "channel_is_above_15, 16", "channel_is_above_15"),
        ("    STAGE(26),", "", "stage_table_has_another_length"),
        ("LANE_COUNT           8", "LANE_COUNT           9", "lane_table_has_another_length"),
    ],
)
def test_an_edit_that_breaks_the_table_does_not_compile(good: str, bad: str, words: str, tmp_path: Path) -> None:
    """Each guard in the generated file fires, and the compiler's message says what is wrong."""
    require_tool("gcc", "gcc")
    assert good in TEXT
    outcome = compile_table("gcc", TEXT.replace(good, bad, 1), tmp_path, "-fsyntax-only")
    assert outcome.returncode != 0
    assert words in outcome.stderr


def _renamed(names: list[str], job_name: str = "plain") -> Table:
    def rename(rows: tuple[R, ...]) -> tuple[R, ...]:
        named = zip(rows, cycle(names), cycle(reversed(names)), strict=False)
        return tuple(replace(row, name=name, subject=subject) for row, name, subject in named)

    return replace(
        TABLE,
        job_name=job_name,
        runs=rename(TABLE.runs),
        groups=rename(TABLE.groups),
        lanes=rename(TABLE.lanes),
        messages=rename(TABLE.messages),
        matrices=rename(TABLE.matrices),
        shoes=rename(TABLE.shoes),
        stages=rename(TABLE.stages),
    )


PIECES = (
    "*/",
    "/*",
    "*",
    "/",
    "//",
    "\\",
    "\\\n",
    "??/",
    "??=",
    '"',
    "'",
    "!!!",
    "{{",
    "%}",
    "\n",
    "\r",
    "\t",
    "1",
    "é",
    "\u202e",
)
HOSTILE = st.lists(st.sampled_from(PIECES) | st.characters(), max_size=70).map("".join)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(HOSTILE, min_size=8, max_size=64))
def test_no_name_changes_the_tokens(names: list[str]) -> None:
    """Whatever the points are called, gcc takes the file without a warning and finds the same tokens in it."""
    require_tool("gcc", "gcc")
    text = render_table(_renamed(names))
    with TemporaryDirectory() as folder:
        outcome = compile_table("gcc", text, Path(folder), "-fsyntax-only")
    assert (outcome.returncode, outcome.stderr) == (0, "")
    assert without_comments(text) == without_comments(render_table(_renamed(["plain"])))


@settings(max_examples=25, deadline=None)
@example("??/")
@example("x\\")
@given(HOSTILE)
def test_the_job_name_is_one_string(job_name: str) -> None:
    """Whatever the job is called, it stands in the file as one literal and one line of the comment on top."""
    require_tool("gcc", "gcc")
    text = render_table(_renamed(["plain"], job_name))
    with TemporaryDirectory() as folder:
        outcome = compile_table("gcc", text, Path(folder), "-fsyntax-only")
    assert (outcome.returncode, outcome.stderr) == (0, "")
    literal = re.compile(r'job_name\[\] = ".*";')
    plain = without_comments(render_table(_renamed(["plain"])))
    code = without_comments(text)
    assert literal.sub("", code.replace(" TABLE_IN_FLASH", "")) == literal.sub("", plain.replace(" TABLE_IN_FLASH", ""))
    assert text.count("\n") == TEXT.count("\n")


def test_every_row_says_whose_it_is() -> None:
    """A message row carries the point's address, its id and the user's name, the name made visible."""
    (row,) = [line for line in TEXT.splitlines() if "tabs.vox" in line]
    assert "chain register 2 bit 0: tabs.vox" in row
    assert r"Vox*\/ #error" in row
    assert visible("\u202e") in row


def test_the_same_plan_gives_the_same_text() -> None:
    """Two renderings are equal byte for byte, and hold no date."""
    assert render_table(build_table(bench_plan(), board())) == TEXT
    assert "Digest: 0123456789abcdef" in TEXT
    assert "Do not edit" in TEXT


@pytest.mark.parametrize("template", ["{{ name }}", "/* {{ name }} */", "{{ name | short }}"])
def test_a_template_that_forgets_to_escape_is_refused(template: str) -> None:
    """Text that did not pass through a filter for C cannot reach the file."""
    with pytest.raises(TypeError, match="without escaping it for C"):
        environment().from_string(template).render(name="Vox")


def test_a_word_that_is_no_code_is_refused() -> None:
    """The filter for the writer's own words takes words only."""
    with pytest.raises(TypeError, match="no plain C word"):
        environment().from_string("{{ name | code }}").render(name="*/")
