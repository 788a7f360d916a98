"""Bytes of messages against mido's encoder, and values out of range."""

from __future__ import annotations

from collections.abc import Callable

import mido
import pytest
from hypothesis import given
from hypothesis import strategies as st

from retrofit.midi.messages import control_change, note_off, note_on, program_change

CHANNELS = st.integers(1, 16)
SEVEN_BITS = st.integers(0, 127)


@pytest.mark.parametrize(
    ("sent", "expected"),
    [
        (note_on(1, 60, 64), "90 3c 40"),
        (note_on(16, 36, 0), "9f 24 00"),
        (note_off(3, 60), "82 3c 40"),
        (control_change(4, 11, 127), "b3 0b 7f"),
        (program_change(1, 19), "c0 13"),
    ],
)
def test_known_bytes(sent: bytes, expected: str) -> None:
    """Status bytes of MIDI 1.0 Table I with the channel, written out."""
    assert sent.hex(" ") == expected


@given(channel=CHANNELS, number=SEVEN_BITS, value=SEVEN_BITS)
def test_bytes_against_another_encoder(channel: int, number: int, value: int) -> None:
    """mido encodes every note and controller into the same bytes."""
    common = {"channel": channel - 1}
    pairs = [
        (note_on(channel, number, value), mido.Message("note_on", note=number, velocity=value, **common)),
        (note_off(channel, number, value), mido.Message("note_off", note=number, velocity=value, **common)),
        (control_change(channel, number, value), mido.Message("control_change", control=number, value=value, **common)),
        (program_change(channel, number), mido.Message("program_change", program=number, **common)),
    ]
    assert [sent for sent, _ in pairs] == [bytes(message.bytes()) for _, message in pairs]


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: note_on(0, 60, 64), "channel 0 found, allowed 1 to 16"),
        (lambda: note_on(17, 60, 64), "channel 17"),
        (lambda: note_on(1, 128, 64), "note 128 found, allowed 0 to 127"),
        (lambda: note_off(1, 60, 128), "velocity 128"),
        (lambda: control_change(1, 128, 0), "controller 128"),
        (lambda: control_change(1, 7, -1), "value -1"),
        (lambda: program_change(1, 128), "program 128"),
    ],
)
def test_values_out_of_range_are_named(make: Callable[[], bytes], words: str) -> None:
    """A value that does not fit raises with what was found and what is allowed."""
    with pytest.raises(ValueError, match=words):
        make()
