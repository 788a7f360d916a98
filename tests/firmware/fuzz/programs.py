"""The fuzzing programs: compiled under the sanitizers to find faults, and with counters to see what they reach."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tests.firmware.build import CORE, HOST, SAMPLE, STRICT, core_sources, put_table, run
from tests.tools import require_tool

HERE = Path(__file__).parent
WATCHED = ("-fsanitize=address,undefined", "-fno-sanitize-recover=all")
DESCRIPTION_BYTES = 130
LINK_FILES = (
    "bounces.c",
    "capture.c",
    "crc16.c",
    "frames.c",
    "inputs.c",
    "link.c",
    "link_about.c",
    "link_counts.c",
    "link_inputs.c",
    "link_questions.c",
    "pace.c",
    "queues.c",
    "remap.c",
    "remap_store.c",
    "uptime.c",
)


class FuzzError(Exception):
    """The program could not be built, or ended at something that must not be; the message is what it said."""


@dataclass(frozen=True)
class Done:
    """What a run has done: frames sent, those among them that were whole, and what became of these."""

    frames: int
    whole: int
    ticks: int
    restarts: int
    records: int
    store_writes: int
    answered: dict[int, int]
    refused: dict[int, int]

    def lines(self) -> list[str]:
        """The same in words."""
        return [
            f"{self.frames:,} frames and cuttings of frames, {self.whole:,} whole with a right check among them",
            f"{sum(self.answered.values()):,} answered, {sum(self.refused.values()):,} refused, no other answer",
            f"{self.ticks:,} ticks, {self.restarts:,} restarts, half of them with a store full of noise",
            f"{self.records:,} records ordered, {self.store_writes:,} bytes written for them, none else",
        ]


@dataclass(frozen=True)
class Covered:
    """Lines and branches of one file that were reached at least once, and how many there are."""

    file: str
    lines: int
    lines_all: int
    branches: int
    branches_all: int
    missed: tuple[int, ...]

    def line(self) -> str:
        """The same in words."""
        missed = f"; not reached: lines {', '.join(map(str, self.missed))}" if self.missed else ""
        return (
            f"{self.file:20} lines {self.lines:3} of {self.lines_all:3}, "
            f"branches {self.branches:3} of {self.branches_all:3}{missed}"
        )


def fuzz_table() -> str:
    """The sample console, with a description to be read back."""
    text = (SAMPLE / "console_table.h").read_text(encoding="utf-8")
    numbers = ", ".join(str(7 * n % 256) for n in range(DESCRIPTION_BYTES))
    text = text.replace("#define JOB_DESCRIPTION_BYTES 0", f"#define JOB_DESCRIPTION_BYTES {DESCRIPTION_BYTES}")
    return text.replace("job_description[] TABLE_IN_FLASH = {0}", f"job_description[] TABLE_IN_FLASH = {{{numbers}}}")


def build_fuzzer(folder: Path, *options: str, patched: Path | None = None) -> Path:
    """Compile the fuzzer with core and pretended board; C files of `patched` take the place of those of the core."""
    compiler = require_tool("gcc", "gcc")
    replaced = {path.name: path for path in patched.glob("*.c")} if patched else {}
    sources = [replaced.get(source.name, source) for source in core_sources()]
    includes = [f"-I{put_table(folder, fuzz_table())}", f"-I{CORE}", f"-I{HOST}", f"-I{HERE}"]
    program = folder / "link_fuzz"
    sources += [*sorted(HOST.glob("*.c")), *sorted(HERE.glob("*.c"))]
    built = run([compiler, *STRICT, "-g", *options, *includes, *sources, "-o", program])
    if built.returncode != 0:
        raise FuzzError(built.stderr)
    return program


def fuzz_link(folder: Path, frames: int, seed: int, *, patched: Path | None = None) -> Done:
    """Send so many frames to the core under the sanitizers; raises `FuzzError` at the first thing that must not be."""
    program = build_fuzzer(folder, "-O1", *WATCHED, patched=patched)
    return _played(program, frames, seed)


def _played(program: Path, frames: int, seed: int) -> Done:
    ran = run([program, str(frames), str(seed)], timeout_s=60 + frames // 1000)
    if ran.returncode != 0:
        raise FuzzError(ran.stderr)
    found: dict[str, Any] = json.loads(ran.stdout)
    for name in ("answered", "refused"):
        found[name] = {int(number): count for number, count in found[name].items()}
    return Done(**found)


def coverage(folder: Path, frames: int, seed: int) -> list[Covered]:
    """Send so many frames to a core that counts its lines, and return what they reached of each file of the link."""
    home = folder / "covered"
    home.mkdir()
    _played(build_fuzzer(home, "-O0", "--coverage"), frames, seed)
    return covered_files(home, LINK_FILES)


def covered_files(home: Path, names: Sequence[str]) -> list[Covered]:
    """Return what runs of a program, compiled into `home` with counters, have reached of each file."""
    gcov = require_tool("gcov", "gcc")
    return [_covered(gcov, home, name) for name in names]


def _covered(gcov: str, home: Path, name: str) -> Covered:
    shown = run([gcov, "--json-format", "--stdout", "--branch-probabilities", *home.glob(f"*-{Path(name).stem}.gcda")])
    files: list[dict[str, Any]] = json.loads(shown.stdout)["files"]
    lines = next(file["lines"] for file in files if file["file"].endswith(f"/{name}"))
    branches = [branch["count"] for line in lines for branch in line["branches"]]
    missed = sorted({line["line_number"] for line in lines if line["count"] == 0})
    return Covered(
        name,
        sum(line["count"] > 0 for line in lines),
        len(lines),
        sum(count > 0 for count in branches),
        len(branches),
        tuple(missed),
    )
