"""Compiling the firmware's core: as a library for this machine, and as objects for the controller."""

from __future__ import annotations

import subprocess
from collections.abc import Iterable
from pathlib import Path

import firmware_templates
from tests.emulator.build import TARGETS, stock_core
from tests.tools import require_tool

CORE = Path(firmware_templates.__file__).parent / "core"
AVR = CORE.parent / "avr"
HERE = Path(__file__).parent
HOST = HERE / "host"
SAMPLE = HERE / "sample"
STRICT = ("-std=c99", "-Wall", "-Wextra", "-Wconversion", "-Wshadow", "-pedantic", "-Werror")
HOST_COMPILERS = (("gcc", "gcc"), ("clang", "clang"))


def core_sources() -> list[Path]:
    """Every C file of the core."""
    return sorted(CORE.glob("*.c"))


def run(command: Iterable[str | Path], *, timeout_s: float = 120) -> subprocess.CompletedProcess[str]:
    """Run a command; the result holds what it said."""
    words = [str(part) for part in command]
    return subprocess.run(words, capture_output=True, text=True, check=False, timeout=timeout_s)


def put_table(folder: Path, table: str) -> Path:
    """Write `table` as the console_table.h of `folder`, and return the folder."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "console_table.h").write_text(table, encoding="utf-8")
    return folder


def compile_host(
    table_folder: Path, output: Path, *options: str, compiler: str = "gcc", patched: Path | None = None
) -> subprocess.CompletedProcess[str]:
    """Compile core and pretended board with one table into the shared library `output`, warnings being errors.

    `patched` is a folder whose C files take the place of the core's of the same name.
    """
    require_tool(compiler, compiler)
    replaced = {path.name: path for path in patched.glob("*.c")} if patched else {}
    sources = [replaced.get(source.name, source) for source in core_sources()]
    includes = [f"-I{table_folder}", f"-I{CORE}", f"-I{HOST}"]
    return run(
        [
            compiler,
            *STRICT,
            "-O1",
            "-fPIC",
            "-shared",
            *options,
            *includes,
            *sources,
            *sorted(HOST.glob("*.c")),
            "-o",
            output,
        ]
    )


def compile_avr(
    source: Path, table_folder: Path, output: Path, *options: str, board: str = "atmega2560"
) -> subprocess.CompletedProcess[str]:
    """Compile one file as the stock core does, but with all warnings as errors; C++ against the core's own headers."""
    flags = [f"-mmcu={board}", "-DF_CPU=16000000L", "-Os", "-Wall", "-Wextra", "-Werror", *options]
    if source.suffix == ".cpp":
        compiler, target, core = require_tool("avr-g++", "gcc-avr"), TARGETS[board], stock_core()
        headers = (core / "cores" / "arduino", core / "variants" / target.variant)
        flags += ["-std=gnu++11", *target.defines, *(f"-I{folder}" for folder in headers)]
    else:
        compiler = require_tool("avr-gcc", "gcc-avr")
        flags += ["-std=gnu11"]
    return run([compiler, *flags, f"-I{table_folder}", f"-I{CORE}", f"-I{AVR}", "-c", source, "-o", output])
