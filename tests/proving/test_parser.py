"""The parser of serial MIDI, against file readers and the rules of MIDI 1.0."""

from __future__ import annotations

from itertools import pairwise

import mido
import pytest
from hypothesis import given
from hypothesis import strategies as st

from retrofit.proving.parser import EXCLUSIVE_LENGTH_MAX, MidiParser, data_bytes
from tests.proving.streams import channel_messages, read_by_mido, read_by_music21, with_running_status

REAL_TIME = (0xF8, 0xFA, 0xFB, 0xFC, 0xFE, 0xFF)


@given(st.lists(channel_messages(), min_size=1, max_size=40))
def test_running_status_is_decoded_as_by_mido_s_file_reader(messages: list[bytes]) -> None:
    """A stream with running status gives the messages that a file reader finds in the same bytes."""
    assert MidiParser().feed(with_running_status(messages)) == read_by_mido(messages)


@given(st.lists(channel_messages(), min_size=1, max_size=20))
def test_notes_are_decoded_as_by_music21_s_file_reader(messages: list[bytes]) -> None:
    """The notes of a stream are those that a second, independent reader finds."""
    heard = [(m[0] >> 4, (m[0] & 15) + 1, m[1]) for m in MidiParser().feed(with_running_status(messages))]
    assert [note for note in heard if note[0] in (8, 9)] == read_by_music21(messages)


@given(st.lists(channel_messages(), min_size=1, max_size=20), st.data())
def test_real_time_bytes_anywhere_disturb_nothing(messages: list[bytes], data: st.DataObject) -> None:
    """Real-time bytes between any two bytes come out as they are, and no other message is changed."""
    mixed = bytearray()
    for byte in with_running_status(messages):
        mixed += bytes(data.draw(st.lists(st.sampled_from(REAL_TIME), max_size=2)))
        mixed.append(byte)
    found = MidiParser().feed(mixed)
    assert [message for message in found if message[0] < 0xF8] == read_by_mido(messages)
    assert [m[0] for m in found if m[0] >= 0xF8] == [byte for byte in mixed if byte >= 0xF8]


@given(st.binary(max_size=300), st.lists(st.integers(0, 300), max_size=6))
def test_how_the_bytes_are_bundled_changes_nothing(stream: bytes, cuts: list[int]) -> None:
    """Any bytes, cut anywhere, give the same messages and the same counts."""
    whole, parts = MidiParser(), MidiParser()
    places = sorted({0, len(stream), *(cut for cut in cuts if cut < len(stream))})
    found = [message for start, end in pairwise(places) for message in parts.feed(stream[start:end])]
    assert found == whole.feed(stream)
    assert (parts.stray_bytes, parts.cut_messages) == (whole.stray_bytes, whole.cut_messages)


@given(st.binary(max_size=400))
def test_any_bytes_give_only_well_formed_messages(stream: bytes) -> None:
    """What comes out of noise are whole messages that mido accepts."""
    for message in MidiParser().feed(stream):
        assert bytes(mido.Message.from_bytes(message).bytes()) == message


@pytest.mark.parametrize("status", [*range(0x80, 0xF0), 0xF1, 0xF2, 0xF3, 0xF6])
def test_the_number_of_data_bytes_is_that_of_mido_s_table(status: int) -> None:
    """Every status has as many data bytes as in the message table of mido (MIDI 1.0, table I)."""
    assert data_bytes(status) == mido.messages.specs.SPEC_BY_STATUS[status]["length"] - 1


@pytest.mark.parametrize(
    ("stream", "messages"),
    [
        ("90 3C 40 3E 40", ["90 3C 40", "90 3E 40"]),
        ("90 3C F8 40", ["F8", "90 3C 40"]),
        ("90 3C 40 F6 3E 40", ["90 3C 40", "F6"]),
        ("90 3C 40 F0 01 F8 02 F7 3E 40", ["90 3C 40", "F8", "F0 01 02 F7"]),
        ("C0 13 14", ["C0 13", "C0 14"]),
        ("F2 01 02 3C", ["F2 01 02"]),
        ("90 3C 80 3C 40", ["80 3C 40"]),
        ("F0 01 90 3C 40", ["90 3C 40"]),
        ("F4 3C F7 40 90 3C 40", ["90 3C 40"]),
    ],
)
def test_the_rules_of_midi_hold_one_by_one(stream: str, messages: list[str]) -> None:
    """Running status, real time inside a message, what ends running status, what cuts a message short."""
    assert [message.hex(" ").upper() for message in MidiParser().feed(bytes.fromhex(stream))] == messages


def test_data_of_no_message_and_undefined_statuses_are_counted() -> None:
    """A lone data byte, an undefined status, an end of nothing, and a message cut short are each counted."""
    parser = MidiParser()
    assert parser.feed(bytes.fromhex("40 F4 F9 F7 90 3C 80")) == []
    assert (parser.stray_bytes, parser.cut_messages) == (4, 1)


def test_an_exclusive_message_without_end_is_bounded() -> None:
    """A system exclusive message that never ends is given up at its greatest length, and the next message is heard."""
    parser = MidiParser()
    assert parser.feed(b"\xf0" + bytes(3 * EXCLUSIVE_LENGTH_MAX)) == []
    assert parser.cut_messages == 1
    assert parser.stray_bytes == 3 * EXCLUSIVE_LENGTH_MAX - (EXCLUSIVE_LENGTH_MAX - 1)
    assert parser.feed(bytes.fromhex("90 3C 40")) == [bytes.fromhex("90 3C 40")]
