"""Rows that the tests of the records share, and a process that keeps entries until it is killed."""

from __future__ import annotations

import sys
import time
from pathlib import Path

from retrofit.proving.records.keeper import RunKeeper
from retrofit.proving.records.rows import Kind, PointRow, RunHead
from retrofit.proving.records.store import RecordFile
from retrofit.proving.runs.entries import Entry, EntryKind

INSTRUMENT = "Invented for tests"
HEAD = RunHead("great", "0123456789abcdef", Kind.LIVE, "a port", "Somebody \x1b[2J", "2026-01-01T00:00:00+00:00", "{}")


def point(name: str, bounces: int = 0, longest_us: int = 0, verdict: str = "passed", strokes: int = 1) -> PointRow:
    """Return a point's row."""
    return PointRow(name, f"the {name}", "great", verdict, strokes, bounces, longest_us, 1000, "")


def now_us() -> int:
    """Return the time by which two processes of one machine can be compared."""
    return time.monotonic_ns() // 1000


def keep_for_ever(path: Path) -> None:
    """Keep an entry every millisecond, saying the time of each, until somebody kills this process."""
    with RecordFile(path, INSTRUMENT) as file:
        keeper = RunKeeper(file, file.begin_run(HEAD), now_us, print)
        while True:
            entry = Entry(EntryKind.MIDI, now_us(), b"\x90\x40\x40")
            keeper.keep(entry)
            keeper.save()
            sys.stdout.write(f"{entry.time_us}\n")
            sys.stdout.flush()
            time.sleep(0.001)


if __name__ == "__main__":
    keep_for_ever(Path(sys.argv[1]))
