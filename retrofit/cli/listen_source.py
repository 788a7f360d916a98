"""What `retrofit listen` listens to: one MIDI port, one serial line, or one recording."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from retrofit.cli.output import Exit, Stop, talk
from retrofit.cli.terminal import shown
from retrofit.proving.ports.errors import PortError
from retrofit.proving.ports.midi_in import MidiInput
from retrofit.proving.ports.replay import Replay
from retrofit.proving.ports.serial_in import SerialInput
from retrofit.proving.ports.system import look_once
from retrofit.proving.recording import RecordingError, recorded_messages
from retrofit.proving.sources import Source
from retrofit.survey.job import Job

CAUTION = (
    "caution: a USB lead joins the computer's earth to the console; where original circuits stay, only across an "
    "isolator made for it, or with a laptop on its battery and nothing else plugged into it"
)
_RECORD = b"SQLite format 3\0"  # the magic header string of the SQLite database file format


@contextmanager
def opened_source(
    port: str | None, serial: str | None, replay: Path | None, fast: bool, job: Job | None
) -> Iterator[Source]:
    """Open the one source that is named, or the only MIDI input that there is; otherwise end the command in words."""
    if sum(given is not None for given in (port, serial, replay)) > 1:
        raise Stop(Exit.USAGE, "name only one of --port, --serial and --replay")
    if fast and replay is None:
        raise Stop(Exit.USAGE, "--fast is for a recording: name one with --replay")
    try:
        with _source(port, serial, replay, fast, job) as source:
            yield source
    except (PortError, RecordingError) as error:
        raise Stop(Exit.FILES, str(error)) from error


def _source(port: str | None, serial: str | None, replay: Path | None, fast: bool, job: Job | None) -> Source:
    if replay is not None:
        return Replay(f"recording {replay.name}", _recorded(replay, job), fast)
    talk(CAUTION)
    if serial is not None:
        return SerialInput(serial)
    return MidiInput(port if port is not None else _only_input())


def _only_input() -> str:
    inputs = look_once().inputs
    if len(inputs) == 1:
        return inputs[0].name
    names = [f"  {shown(port.name)}" for port in inputs]
    found = "which of the MIDI inputs? say --port NAME:" if inputs else "no MIDI input is there"
    raise Stop(Exit.USAGE, found, *names, "see: retrofit ports")


def _recorded(path: Path, job: Job | None) -> list[tuple[int, bytes]]:
    with path.open("rb") as file:
        is_record = file.read(len(_RECORD)) == _RECORD
    return _newest_run(path, job) if is_record else recorded_messages(path)


def _newest_run(path: Path, job: Job | None) -> list[tuple[int, bytes]]:
    """Return the messages of the last run in a record of ours."""
    from retrofit.proving.records.errors import RecordError  # noqa: PLC0415  # only where a record is read
    from retrofit.proving.records.store import RecordFile  # noqa: PLC0415  # likewise
    from retrofit.proving.runs.entries import EntryKind  # noqa: PLC0415  # likewise

    if job is None:
        raise Stop(Exit.USAGE, f"{path} is a record of proving runs: name the job file that it belongs to as FILE")
    try:
        with RecordFile(path, job.instrument.name, create=False) as record:
            runs = record.runs()
            entries = record.entries(runs[-1].number) if runs else ()
    except RecordError as error:
        raise Stop(Exit.FILES, str(error)) from error
    return [(entry.time_us, entry.data) for entry in entries if entry.kind == EntryKind.MIDI]
