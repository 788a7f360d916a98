"""`retrofit listen`: what is heard, line by line, by the points' own names, and counts at the end."""

from __future__ import annotations

import json
import signal
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from types import FrameType

import click

from retrofit.cli.arguments import FILE_PATH, Duration
from retrofit.cli.jobs import open_job
from retrofit.cli.listen_counts import counts_json, counts_words
from retrofit.cli.listen_lines import Line, Lines
from retrofit.cli.listen_source import opened_source
from retrofit.cli.output import data, raw_data, talk
from retrofit.cli.plans import planned
from retrofit.proving.engine import Engine
from retrofit.proving.expected import expected_of
from retrofit.proving.sources import Source

LOOK_S = 0.005
"""Pause when nothing has come."""
LINES_AT_ONCE = 200
"""Lines of one batch that a terminal is given; a flood is counted whole all the same."""


@click.command()
@click.argument("file", metavar="[FILE]", type=FILE_PATH, required=False)
@click.option("--port", metavar="NAME", help="Listen to this MIDI input: its name, or a part of it that fits no other.")
@click.option("--serial", metavar="DEVICE", help="Listen to a serial line at the speed of the MIDI wire.")
@click.option(
    "--replay", metavar="RECORDING", type=FILE_PATH, help="Play a Standard MIDI File, or a record's last run."
)
@click.option("--fast", is_flag=True, help="With --replay: as fast as it goes, not in its own time.")
@click.option("--seconds", type=Duration(0), help="End after so long; without it, on Ctrl-C.")
@click.option("--json", "as_json", is_flag=True, help="Write a JSON object for each line, and the counts as the last.")
def command(
    file: Path | None,
    port: str | None,
    serial: str | None,
    replay: Path | None,
    fast: bool,
    seconds: float | None,
    as_json: bool,
) -> None:
    """Show what is heard, line by line; with a job FILE by the names of its points.

    Without --port, --serial or --replay it listens to the only MIDI input that there is.  It runs until Ctrl-C, for
    --seconds, or to the end of the recording, and says then how much was heard and what of it was not expected.
    """
    job = open_job(file) if file is not None else None
    lines = Lines(Engine(expected_of(planned(job))) if job is not None else None)
    with interruptible() as interrupted, opened_source(port, serial, replay, fast, job) as source:
        talk(f"listening to {source.words}" + ("; Ctrl-C ends it" if seconds is None and replay is None else ""))
        begun_us = 0 if fast else time.monotonic_ns() // 1000
        for batch in batches(source, seconds, interrupted):
            _show([line for at_us, message in batch if (line := lines.of(at_us, message))], begun_us, as_json)
        if as_json:
            raw_data(json.dumps({"counts": counts_json(lines, source)}) + "\n")
        for words in counts_words(lines, source):
            talk(words)


@contextmanager
def interruptible() -> Iterator[threading.Event]:
    """Give a flag that the first Ctrl-C sets; a second one ends the program as it always does."""
    flag = threading.Event()
    before = signal.getsignal(signal.SIGINT)

    def interrupt(number: int, frame: FrameType | None) -> None:  # noqa: ARG001  # the system's own signature
        flag.set()
        signal.signal(signal.SIGINT, before)

    signal.signal(signal.SIGINT, interrupt)
    try:
        yield flag
    finally:
        signal.signal(signal.SIGINT, before)


def batches(source: Source, seconds: float | None, interrupted: threading.Event) -> Iterator[list[tuple[int, bytes]]]:
    """Yield what comes until the time is over, somebody interrupts or the source has ended, and say when it is away."""
    until_s = None if seconds is None else time.monotonic() + seconds
    away = False
    while not interrupted.is_set() and (until_s is None or time.monotonic() < until_s):
        batch = source.poll()
        if batch:
            yield batch
        if source.away != away:
            away = source.away
            talk(f"{source.words} is {'away; waiting for it to come back' if away else 'back'}")
        if source.ended:
            return
        if not batch:
            time.sleep(LOOK_S)
    yield source.poll()


def _show(lines: list[Line], begun_us: int, as_json: bool) -> None:
    if as_json:
        raw_data("".join(_json(line, begun_us) for line in lines))
    else:
        shown = lines[:LINES_AT_ONCE] if sys.stdout.isatty() else lines
        for line in shown:
            data(f"{(line.at_us - begun_us) / 1e6:9.3f} s  {line.text}")
        if len(shown) < len(lines):
            data(f"             and {len(lines) - len(shown)} more at once, counted but not shown")
    sys.stdout.flush()


def _json(line: Line, begun_us: int) -> str:
    content = {
        "at_s": round((line.at_us - begun_us) / 1e6, 6),
        "point": line.point,
        "words": line.words,
        "now": line.now,
        "message": line.message.hex(" ").upper(),
    }
    return json.dumps(content) + "\n"
