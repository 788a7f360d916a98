"""The firmware's sources: clean under every compiler, and unwilling to take a table that does not fit."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from retrofit.firmware.sketch import listed_files
from tests.firmware.build import (
    CORE,
    HOST,
    HOST_COMPILERS,
    SAMPLE,
    compile_avr,
    compile_host,
    put_table,
    run,
)
from tests.firmware.console import build_console
from tests.firmware.table_text import ConsoleTable, chain_of_keys
from tests.tools import require_tool

SAMPLE_TEXT = (SAMPLE / "console_table.h").read_text(encoding="utf-8")
TABLES = {"sample": SAMPLE_TEXT, "nothing": ConsoleTable().text(), "forty-registers": chain_of_keys(40, 8).text()}


@pytest.mark.parametrize("table", TABLES)
@pytest.mark.parametrize(("compiler", "package"), HOST_COMPILERS)
def test_the_core_compiles_without_a_warning(tmp_path: Path, compiler: str, package: str, table: str) -> None:
    """Core and table compile as strict C99, also with tables of no rows."""
    require_tool(compiler, package)
    result = compile_host(put_table(tmp_path, TABLES[table]), tmp_path / "core.so", compiler=compiler)
    assert result.returncode == 0, result.stderr


@pytest.mark.parametrize("table", TABLES)
@pytest.mark.parametrize("board", ["atmega2560", "atmega32u4"])
def test_the_controller_compiler_has_no_warning(tmp_path: Path, board: str, table: str) -> None:
    """Core and board compile for the AVR chips with all warnings as errors."""
    put_table(tmp_path, TABLES[table])
    for name in listed_files(board):
        if not name.endswith(".h"):
            result = compile_avr(CORE.parent / name, tmp_path, tmp_path / "object.o", board=board)
            assert result.returncode == 0, result.stderr


def test_the_static_checker_finds_nothing(tmp_path: Path) -> None:
    """cppcheck has no complaint about the core."""
    checker = require_tool("cppcheck", "cppcheck")
    put_table(tmp_path, SAMPLE_TEXT)
    options = ["--enable=warning,performance,portability", "--error-exitcode=1", "--std=c99", "--quiet"]
    result = run([checker, *options, "--inline-suppr", f"-I{tmp_path}", f"-I{CORE}", f"-I{HOST}", CORE])
    assert result.returncode == 0, result.stderr


def test_a_table_of_another_format_is_refused_in_words(tmp_path: Path) -> None:
    """A table file with another format number does not compile, and the compiler says what to do."""
    put_table(tmp_path, SAMPLE_TEXT.replace("#define TABLE_FORMAT_OF_FILE 3", "#define TABLE_FORMAT_OF_FILE 4"))
    result = compile_host(tmp_path, tmp_path / "core.so")
    assert result.returncode != 0
    assert "different formats: write the sketch folder again" in result.stderr


@pytest.mark.parametrize(
    ("right", "wrong", "words"),
    [
        ("#define LANE_COUNT 9", "#define LANE_COUNT 256", "lane_count_is_more_than_255"),
        ("#define RUN_COUNT 7", "#define RUN_COUNT 255", "run_count_is_more_than_254"),
        ("#define HOLD_SLOTS 32", "#define HOLD_SLOTS 73", "hold_slots_are_more_than_the_contacts"),
        ("#define COUNTER_PLANES 3", "#define COUNTER_PLANES 7", "counter_planes_are_more_than_6"),
        ("#define CHANNEL_COUNT 3", "#define CHANNEL_COUNT 17", "channel_count_is_more_than_16"),
        ("#define POWER_ON_TICKS 40", "#define POWER_ON_TICKS 1000001", "power_on_ticks_are_more_than_1000000"),
        (
            "#define SHOE_INTERVAL_TICKS 40",
            "#define SHOE_INTERVAL_TICKS 65536",
            "shoe_interval_ticks_are_more_than_65535",
        ),
        ("#define TICK_US 250", "#define TICK_US 300", "TICK_US must be"),
        ("#define SPI_DIVIDER 8", "#define SPI_DIVIDER 3", "SPI_DIVIDER must be"),
        ("#define RUNNING_STATUS 1", "#define RUNNING_STATUS 2", "RUNNING_STATUS must be"),
        ("#define REPORT_HELD 1", "#define REPORT_HELD 2", "REPORT_HELD must be"),
        ("#define MIDI_WIRE 1", "#define MIDI_WIRE 2", "MIDI_WIRE and MIDI_USB must be"),
        ("#define MIDI_WIRE 1", "#define MIDI_WIRE 0", "one of them 1"),
        ("#define LISTEN_STOPS 0", "#define LISTEN_STOPS 2", "LISTEN_STOPS must be"),
        ("#define PANIC_PISTONS 1", "#define PANIC_PISTONS 2", "PANIC_PISTONS must be"),
        ("#define PANIC_FIRST 70", "#define PANIC_FIRST 72", "panic_piston_is_outside_the_lanes"),
        ("{FAMILY_COUNTED, 2, 5,", "{FAMILY_COUNTED, 2, 256,", "256"),
    ],
)
def test_a_value_that_does_not_fit_is_refused_by_name(tmp_path: Path, right: str, wrong: str, words: str) -> None:
    """A size or value beyond its type stops the compiler, and the message names it."""
    assert SAMPLE_TEXT.count(right) == 1
    put_table(tmp_path, SAMPLE_TEXT.replace(right, wrong))
    result = compile_host(tmp_path, tmp_path / "core.so")
    assert result.returncode != 0
    assert words in result.stderr


def test_a_console_of_nothing_runs(tmp_path: Path) -> None:
    """A table without any rows compiles, runs and stays silent."""
    console = build_console(tmp_path, ConsoleTable())
    console.run(500)
    assert console.take() == b""


@pytest.mark.parametrize("board", tomllib.loads((CORE.parent / "files.toml").read_text(encoding="utf-8"))["boards"])
def test_no_two_files_of_a_sketch_have_one_name(board: str) -> None:
    """Files of core and board lie side by side in a sketch folder, so each name is there once."""
    names = [Path(file).name for file in listed_files(board)]
    assert len(names) == len(set(names)) > 0
