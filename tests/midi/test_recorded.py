"""Recorded messages as text: one form each, which reads back exactly."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from retrofit.midi.messages import PointMessage, ShoeMessage, control_change, note_off, note_on, program_change
from retrofit.midi.recorded import message_text, parse_message, recorded_messages, sent_by_point, unreadable_messages
from retrofit.midi.uses import Use
from retrofit.survey.wishes import MessageKind
from tests.plan.jobs import SOUND, job_of

USES = st.builds(Use, st.integers(1, 16), st.sampled_from(MessageKind), st.integers(0, 127))


@given(USES)
def test_every_message_reads_back_exactly(use: Use) -> None:
    """The text form of a message names that message and no other."""
    assert parse_message(message_text(use)) == use


@given(st.text(alphabet="noteclrpgamh0123456789 ", max_size=30) | st.text(max_size=20))
def test_a_text_that_is_read_is_the_one_form_of_its_message(text: str) -> None:
    """Whatever is read would be written the same way again, so that recording never respells a line."""
    try:
        use = parse_message(text)
    except ValueError:
        return
    assert message_text(use) == text


@pytest.mark.parametrize(
    ("text", "use"),
    [
        ("note 36 on channel 1", Use(1, MessageKind.NOTE, 36)),
        ("controller 20 on channel 2", Use(2, MessageKind.CONTROLLER, 20)),
        ("program 3 on channel 16", Use(16, MessageKind.PROGRAM, 3)),
    ],
)
def test_the_three_forms_are_read(text: str, use: Use) -> None:
    """A kind, its number and a channel."""
    assert parse_message(text) == use


@pytest.mark.parametrize(
    "text",
    [
        "",
        "note 128 on channel 1",
        "note 36 on channel 0",
        "note 36 on channel 17",
        "note 036 on channel 1",
        "Note 36 on channel 1",
        "note 36 on channel 1\n",
        "note ٣ on channel 1",
        "controller -1 on channel 1",
        "pitch 3 on channel 1",
    ],
)
def test_a_text_that_is_no_message_is_refused_with_the_forms(text: str) -> None:
    """Numbers beyond seven bits, channels beyond sixteen (MIDI 1.0) and other words are refused."""
    with pytest.raises(ValueError, match="'note 36 on channel 1', 'controller 20 on channel 2'"):
        parse_message(text)


def test_readable_and_unreadable_records_are_told_apart() -> None:
    """One bad line does not hide the others."""
    job = job_of(SOUND + '[messages]\n"great.36" = "note 36 on channel 1"\n"great.37" = "loud"\n')
    assert recorded_messages(job) == {"great.36": Use(1, MessageKind.NOTE, 36)}
    assert unreadable_messages(job) == {"great.37": "loud"}


def test_what_points_send_follows_from_their_bytes() -> None:
    """A note-off of either kind, a controller's two values and a program are one message; a shoe is its controller."""
    messages = {
        "a": PointMessage(note_on(1, 36, 100), note_off(1, 36)),
        "b": PointMessage(control_change(2, 20, 127), control_change(2, 20, 0)),
        "c": PointMessage(program_change(3, 5), b""),
    }
    sent = sent_by_point(messages, {"d": ShoeMessage(8, 11, 14)})
    assert {point: message_text(use) for point, use in sent.items()} == {
        "a": "note 36 on channel 1",
        "b": "controller 20 on channel 2",
        "c": "program 5 on channel 3",
        "d": "controller 11 on channel 8",
    }
