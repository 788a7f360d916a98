"""What a proving run listens to and where its tones go, opened by the names given on the command line."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from retrofit.cli.listen_source import opened_source
from retrofit.cli.output import Exit, Stop
from retrofit.cli.prove_person import MonotonicClock
from retrofit.proving.ports.errors import PortError
from retrofit.proving.ports.midi_out import MidiOutput
from retrofit.proving.records.rows import Kind
from retrofit.proving.runs.clock import Clock, HeardClock
from retrofit.proving.sources import Source
from retrofit.proving.tones import ToneChoice, Tones
from retrofit.survey.job import Job


@dataclass(frozen=True, slots=True)
class Listening:
    """An open source, the clock that times its messages, and what kind of run this makes."""

    source: Source
    clock: Clock
    kind: Kind


@contextmanager
def listening(port: str | None, serial: str | None, replay: Path | None, job: Job) -> Iterator[Listening]:
    """Open the source that is named, or the only MIDI input that there is; otherwise end the command in words."""
    with opened_source(port, serial, replay, fast=replay is not None, job=job) as source:
        if replay is None:
            yield Listening(source, MonotonicClock(), Kind.LIVE)
        else:
            yield Listening(source, HeardClock(), Kind.REPLAY)


@contextmanager
def tones_to(name: str | None, choice: ToneChoice) -> Iterator[Tones | None]:
    """Open the output for tones, if one is named; every tone is ended before it is closed."""
    if name is None:
        yield None
        return
    try:
        with MidiOutput(name) as output:
            tones = Tones(output.send, choice)
            try:
                yield tones
            finally:
                tones.close()
    except PortError as error:
        raise Stop(Exit.FILES, str(error)) from error
