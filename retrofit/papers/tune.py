"""The test tune: a Standard MIDI File in which every point of the plan is used once, for setting the sound up.

Whoever sets up the sound module plays it without the console: what is then wrong is wrong there.  Format 1, a track for
each division after a first one with the name (Standard MIDI Files 1.0).
"""

from __future__ import annotations

from collections.abc import Iterator
from io import BytesIO
from typing import TYPE_CHECKING, Any

from retrofit.midi.messages import COARSE_BITS, FINE_ABOVE, ShoeMessage, control_change
from retrofit.plan.model import ConversionPlan, PointPlan
from retrofit.survey.problems import printable

if TYPE_CHECKING:
    from mido import MidiFile

TUNE_NAME = "test-tune.mid"
TICKS_PER_BEAT = 480
"""At the 120 beats a minute that hold where a file states none, a tick is 1/960 of a second."""
_HELD = 240
"""A quarter of a second: long enough to hear, short enough for 400 points in two minutes."""
_SHOE_STEP = 15
_SWEEP = (*range(0, 128, 8), 127)
"""A shoe is opened, and left open: closed shoes would make the next division seem dead."""

Timed = tuple[int, bytes]
"""Ticks since the message before, and the message."""


def tune_file(plan: ConversionPlan) -> bytes:
    """Return the file; the divisions play one after the other, each in the order of its points."""
    from mido import MetaMessage, MidiFile  # noqa: PLC0415  # only a build writes it

    file = MidiFile(type=1, ticks_per_beat=TICKS_PER_BEAT, charset="utf-8")
    title = f"Test tune of {printable(plan.job.instrument.name)}, plan {plan.digest}"
    file.add_track().append(MetaMessage("track_name", name=title, time=0))
    begins = 0
    for division in plan.job.divisions:
        played = [timed for point in plan.points if point.point.division == division.id for timed in _played(point)]
        _add_track(file, printable(division.name or division.id), begins, played)
        begins += sum(ticks for ticks, _ in played)
    written = BytesIO()
    file.save(file=written)
    return written.getvalue()


def _add_track(file: MidiFile, name: str, begins: int, played: list[Timed]) -> None:
    from mido import Message, MetaMessage  # noqa: PLC0415  # only a build writes it

    track: Any = file.add_track()
    track.append(MetaMessage("track_name", name=name, time=0))
    for number, (ticks, message) in enumerate(played):
        wait = ticks + (begins if number == 0 else 0)
        track.append(Message.from_bytes(list(message), time=wait))


def _played(point: PointPlan) -> Iterator[Timed]:
    """Yield a press and a release, or a shoe opened from end to end."""
    if point.shoe is not None:
        yield from _opened(point.shoe)
    elif point.message is not None:
        if point.message.on:
            yield 0, point.message.on
        if point.message.off:
            yield _HELD, point.message.off


def _opened(shoe: ShoeMessage) -> Iterator[Timed]:
    for value in _SWEEP:
        yield _SHOE_STEP, control_change(shoe.channel, shoe.controller, value)
        if shoe.bits > COARSE_BITS:
            yield (
                0,
                control_change(shoe.channel, shoe.controller + FINE_ABOVE, 127 if value == 127 else 0),
            )  # the end of seven bits
