"""What points were recorded to send, as text that stands in the job file and reads back exactly.

`note 36 on channel 1`, `controller 20 on channel 2`, `program 3 on channel 1`: a kind, its number, and a channel 1-16.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from retrofit.midi.messages import PointMessage, ShoeMessage
from retrofit.midi.uses import Use, uses_of_message
from retrofit.survey.job import Job
from retrofit.survey.wishes import MessageKind

FORMS = "'note 36 on channel 1', 'controller 20 on channel 2' and 'program 3 on channel 1'"
"""The forms that are allowed, for messages to the user."""

_TEXT = re.compile(r"(note|controller|program) (0|[1-9][0-9]{0,2}) on channel ([1-9]|1[0-6])")


def message_text(use: Use) -> str:
    """Return what a point sends as its one text form."""
    return f"{use.kind.value} {use.number} on channel {use.channel}"


def parse_message(text: str) -> Use:
    """Return what a text says that a point sends; the way back of `message_text`.

    Raises `ValueError` with the allowed forms when it says nothing of the kind.
    """
    found = _TEXT.fullmatch(text)
    if found is None or int(found[2]) > 127:
        raise ValueError(f"{text!r} is no message; allowed are {FORMS}, numbers 0 to 127, channels 1 to 16")
    return Use(int(found[3]), MessageKind(found[1]), int(found[2]))


def recorded_messages(job: Job) -> dict[str, Use]:
    """Return every recorded message that can be read, by point id; the others are `unreadable_messages`."""
    return {point: use for point, text in job.messages.items() if (use := _read(text)) is not None}


def unreadable_messages(job: Job) -> dict[str, str]:
    """Return recorded messages that say nothing a point could send, by point id."""
    return {point: text for point, text in job.messages.items() if _read(text) is None}


def sent_by_point(messages: Mapping[str, PointMessage], shoes: Mapping[str, ShoeMessage]) -> dict[str, Use]:
    """Return what every point sends; of a shoe with more than 7 bits its coarse controller."""
    sent = {point: use for point, message in messages.items() for use in uses_of_message(message)}
    return sent | {point: Use(shoe.channel, MessageKind.CONTROLLER, shoe.controller) for point, shoe in shoes.items()}


def _read(text: str) -> Use | None:
    try:
        return parse_message(text)
    except ValueError:
        return None
