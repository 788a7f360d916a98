"""Reading a Standard MIDI File as messages with times, for a run that is replayed."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Any

from retrofit.survey.os_remedies import remedy_for
from retrofit.survey.problems import printable


class RecordingError(Exception):
    """A recording cannot be read: which, what was found, and the remedy."""


def recorded_messages(path: Path) -> list[tuple[int, bytes]]:
    """Return the messages of a Standard MIDI File, oldest first, all its tracks joined, times in microseconds.

    Raises `RecordingError`.
    """
    import mido  # noqa: PLC0415  # needed only where a recording is read

    shown = printable(str(path))
    try:
        events = list(mido.MidiFile(path))
    except FileNotFoundError as error:
        raise RecordingError(f"{shown}: there is no such file") from error
    except OSError as error:
        reason, remedy = error.strerror or error, remedy_for(error)
        raise RecordingError(f"{shown}: not read, {reason}{f'; {remedy}' if remedy else ''}") from error
    except (EOFError, ValueError, KeyError, IndexError, TypeError, ArithmeticError, mido.KeySignatureError) as error:
        raise RecordingError(f"{shown}: this is no whole Standard MIDI File ({printable(str(error))})") from error
    return _timed(events)


def _timed(events: Iterable[Any]) -> list[tuple[int, bytes]]:
    """Return the messages that a wire carries, with the times that add up from one event to the next, in seconds."""
    at_s, timed = 0.0, []
    for event in events:
        at_s += event.time
        if not event.is_meta:
            timed.append((round(at_s * 1_000_000), bytes(event.bytes())))
    return timed
