"""The RP2040's files compile as strictly as the rest: C99 and C++ with warnings as errors, and the static checker."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.emulator.build import BuildError
from tests.emulator.rp2040.build import CPU, LIBRARY, STRICT, run_tool
from tests.firmware.build import CORE, core_sources, put_table
from tests.firmware.build import run as run_checker
from tests.firmware.table_text import ConsoleTable, chain_of_keys
from tests.tools import require_tool

RP2040 = CORE.parent / "rp2040"
TABLES = {
    "nothing": ConsoleTable(),
    "chain": chain_of_keys(40, 8, SPI_DIVIDER=32),
    "usb alone": chain_of_keys(2, 8, MIDI_WIRE=0, MIDI_USB=1),
    "both outlets": chain_of_keys(2, 8, MIDI_USB=1, LINK=1),
}
CLOCK = ("-DF_CPU=125000000", "-DUSE_TINYUSB")


def compile_one(source: Path, folder: Path, *options: str) -> None:
    """Compile one file.  Raises `BuildError` with the compiler's words."""
    includes = [f"-I{each}" for each in (folder, CORE, RP2040, LIBRARY)]
    kind = ("arm-none-eabi-g++", "-std=c++11") if source.suffix == ".cpp" else ("arm-none-eabi-gcc", "-std=c99")
    run_tool(
        [*kind, *CPU, "-Os", "-pedantic", *STRICT, *(options or CLOCK), *includes, "-c", source, "-o", folder / "o"]
    )


@pytest.mark.parametrize("table", TABLES)
def test_core_and_board_compile_without_a_warning(tmp_path: Path, table: str) -> None:
    """Core, board and the files that reach the libraries compile for the Cortex-M0+, also with tables of no rows."""
    require_tool("arm-none-eabi-gcc", "gcc-arm-none-eabi")
    put_table(tmp_path, TABLES[table].text())
    for source in [*core_sources(), *sorted(RP2040.glob("*.c")), *sorted(RP2040.glob("*.cpp"))]:
        compile_one(source, tmp_path)


@pytest.mark.parametrize(
    ("file", "options", "words"),
    [
        ("board.c", ("-DF_CPU=133000000", "-DUSE_TINYUSB"), "choose that clock for the board"),
        ("usb_midi.cpp", ("-DF_CPU=125000000",), "USB stack TinyUSB"),
        ("wire.c", ("-DF_CPU=125000001",), "no exact 31,250 baud"),
    ],
)
def test_a_wrong_choice_in_the_users_tool_is_refused_in_words(
    tmp_path: Path, file: str, options: tuple[str, ...], words: str
) -> None:
    """Another clock and another USB stack do not compile, and the compiler says what to choose."""
    require_tool("arm-none-eabi-gcc", "gcc-arm-none-eabi")
    put_table(tmp_path, TABLES["usb alone"].text())
    with pytest.raises(BuildError, match=words):
        compile_one(RP2040 / file, tmp_path, *options)


def test_a_table_that_listens_is_refused(tmp_path: Path) -> None:
    """This board has no interrupt for strobes in its port: such a table does not compile, and the words say so."""
    require_tool("arm-none-eabi-gcc", "gcc-arm-none-eabi")
    put_table(tmp_path, ConsoleTable(sizes={"LISTEN_PORTS": 1}).text())
    with pytest.raises(BuildError, match="does not listen to a keyboard"):
        compile_one(RP2040 / "pins.c", tmp_path)


def test_the_static_checker_finds_nothing(tmp_path: Path) -> None:
    """cppcheck has no complaint about the board's C files."""
    checker = require_tool("cppcheck", "cppcheck")
    put_table(tmp_path, TABLES["both outlets"].text())
    options = ["--enable=warning,performance,portability", "--error-exitcode=1", "--std=c99", "--quiet"]
    includes = [f"-I{each}" for each in (tmp_path, CORE, RP2040)]
    result = run_checker([checker, *options, "-DF_CPU=125000000", *includes, *sorted(RP2040.glob("*.c"))])
    assert result.returncode == 0, result.stderr
