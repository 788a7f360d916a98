"""Contacts that carry sound: never sensed with direct current."""

from __future__ import annotations

from retrofit.circuits.sense.design import Judged
from retrofit.circuits.sense.line import Line


def audio_refusals(line: Line) -> tuple[str, ...]:
    """Return the reason why a line with sound on it is refused, or nothing."""
    if not line.carries_audio:
        return ()
    return (
        "the contact carries sound: current from a sense circuit would thump, leak or change the tone; "
        "use a spare contact or a sensor that does not touch the wire",
    )


def audio_unknown(line: Line) -> tuple[Judged, ...]:
    """Return an open question while nobody has said whether the line carries sound, or nothing."""
    if line.carries_audio is not None:
        return ()
    return (Judged("no sound on the line", None, "whether the contact carries sound"),)
