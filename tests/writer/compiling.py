"""Compiling a generated table with the hand-written core, on this machine."""

from __future__ import annotations

import subprocess
from pathlib import Path

import firmware_templates
from retrofit.catalogue.load import load_catalogue
from retrofit.catalogue.parts import Board

CORE = Path(firmware_templates.__file__).parent / "core"
WARNINGS = ("-std=c99", "-Wall", "-Wextra", "-Wconversion", "-Wshadow", "-pedantic", "-Werror")


def board() -> Board:
    """Return the board that the plans of these tests are for."""
    return load_catalogue().boards["atmega2560"]


def compile_table(compiler: str, table: str, folder: Path, *options: str) -> subprocess.CompletedProcess[str]:
    """Compile the core's tables.c with `table` as console_table.h; the result says how it went."""
    (folder / "console_table.h").write_text(table, encoding="utf-8")
    command = [compiler, *WARNINGS, *options, f"-I{folder}", f"-I{CORE}", str(CORE / "tables.c")]
    return subprocess.run(command, capture_output=True, text=True, check=False)


def without_comments(source: str) -> str:
    """Return C source without its comments, as gcc's preprocessor leaves it."""
    command = ["gcc", "-std=c99", "-fpreprocessed", "-dD", "-E", "-P", "-x", "c", "-"]
    return subprocess.run(command, input=source, capture_output=True, text=True, check=True).stdout
