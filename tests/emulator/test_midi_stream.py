"""The decoder against three readers of Standard MIDI Files, which share MIDI 1.0's running status, and vectors."""

from __future__ import annotations

import io
import struct

import mido
import music21.midi
import pretty_midi
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.emulator.midi_stream import BYTE_CYCLES, Decoded, decode


def heard(data: bytes) -> Decoded:
    """Decode bytes that leave back to back."""
    return decode((turn * BYTE_CYCLES, byte) for turn, byte in enumerate(data))


def midi_file(data: bytes, message_starts: set[int]) -> bytes:
    """Return a Standard MIDI File (format 0) whose only track holds `data`, a delta time before each message."""
    track = b"".join((b"\x0a" if at in message_starts else b"") + bytes((byte,)) for at, byte in enumerate(data))
    track += b"\x00\xff\x2f\x00"
    return b"MThd" + struct.pack(">IHHH", 6, 0, 1, 480) + b"MTrk" + struct.pack(">I", len(track)) + track


CHANNEL_MESSAGE = st.one_of(
    st.tuples(
        st.sampled_from((0x80, 0x90, 0xA0, 0xB0, 0xE0)), st.integers(0, 15), st.integers(0, 127), st.integers(0, 127)
    ),
    st.tuples(st.sampled_from((0xC0, 0xD0)), st.integers(0, 15), st.integers(0, 127)),
).map(lambda parts: bytes((parts[0] | parts[1], *parts[2:])))


def is_mode_message(message: bytes) -> bool:
    """Return whether this is a channel mode message (controllers 120-127): music21 drops its value on writing."""
    return message[0] >> 4 == 0xB and message[1] >= 120


def with_running_status(messages: list[bytes]) -> tuple[bytes, set[int]]:
    """Return the bytes of `messages` with repeated statuses left out, and where each message begins."""
    wire, starts, running = b"", set(), None
    for message in messages:
        starts.add(len(wire))
        wire += message[1:] if message[0] == running else message
        running = message[0]
    return wire, starts


@settings(max_examples=150, deadline=None)
@given(st.lists(CHANNEL_MESSAGE, min_size=1, max_size=40))
def test_running_status_agrees_with_file_readers(messages: list[bytes]) -> None:
    """Whatever is sent under running status comes out as mido's and music21's readers of MIDI files understand it."""
    wire, starts = with_running_status(messages)
    ours = [message.data for message in heard(wire).messages]
    content = midi_file(wire, starts)
    from_mido = [bytes(m.bytes()) for m in mido.MidiFile(file=io.BytesIO(content)).tracks[0] if not m.is_meta]
    reader = music21.midi.MidiFile()
    reader.readstr(content)
    voice = music21.midi.ChannelVoiceMessages
    from_music21 = [event.getBytes() for event in reader.tracks[0].events if isinstance(event.type, voice)]
    assert ours == messages == from_mido
    assert from_music21 == [message for message in messages if not is_mode_message(message)]


def test_notes_agree_with_pretty_midi() -> None:
    """Notes sent under running status and ended by velocity zero are the notes that pretty_midi reads from a file."""
    messages = [bytes((0x90, note, velocity)) for note in (36, 60, 96) for velocity in (100, 0)]
    wire, starts = with_running_status(messages)
    assert len(wire) == 13
    notes = pretty_midi.PrettyMIDI(io.BytesIO(midi_file(wire, starts))).instruments[0].notes
    ours = [message.data for message in heard(wire).messages]
    assert [(note.pitch, note.velocity) for note in notes] == [(data[1], data[2]) for data in ours if data[2]]


def test_times_are_those_of_the_first_and_last_byte() -> None:
    """A message begins with its first byte and has left 320 µs after its last one began (IEC 63035)."""
    first, second = heard(bytes.fromhex("903C64 3C00")).messages
    assert (first.begins, first.ends, first.wire_bytes) == (0, 3 * BYTE_CYCLES, 3)
    assert (second.begins, second.ends, second.wire_bytes) == (3 * BYTE_CYCLES, 5 * BYTE_CYCLES, 2)
    assert second.data == bytes.fromhex("903C00")


@pytest.mark.parametrize(
    ("wire", "messages"),
    [
        ("90 3C F8 64", ["F8", "903C64"]),
        ("F0 7D 01 FE 02 F7 ", ["FE", "F07D0102F7"]),
        ("B0 7B 00 F6 C0 13", ["B07B00", "F6", "C013"]),
        ("F2 7F 7F F3 03 F1 12", ["F27F7F", "F303", "F112"]),
        ("E0 00 40 7F 7F", ["E00040", "E07F7F"]),
    ],
)
def test_real_time_and_system_messages(wire: str, messages: list[str]) -> None:
    """Real-time bytes may stand inside any message; system messages end running status (MIDI 1.0)."""
    decoded = heard(bytes.fromhex(wire))
    assert [message.data.hex().upper() for message in decoded.messages] == messages
    assert decoded.strays == ()


@pytest.mark.parametrize(
    ("wire", "stray", "why"),
    [
        ("3C 64", "3C64", "without a status"),
        ("90 3C 64 F6 3C 00", "3C00", "without a status"),
        ("90 3C 80 3C 40", "903C", "broken off"),
        ("F4", "F4", "undefined"),
        ("F7", "F7", "without a beginning"),
        ("90 3C", "903C", "ended inside"),
        ("F0 7D 90 3C 64", "F07D", "broken off"),
    ],
)
def test_what_belongs_to_no_message_is_kept_as_stray(wire: str, stray: str, why: str) -> None:
    """Nothing on the wire is passed over in silence."""
    strays = heard(bytes.fromhex(wire)).strays
    assert bytes(each.byte for each in strays) == bytes.fromhex(stray)
    assert all(why in each.why for each in strays)


@given(st.binary(max_size=60))
def test_any_bytes_are_accounted_for(data: bytes) -> None:
    """Each byte of any stream stands in exactly one message or among the strays."""
    decoded = heard(data)
    assert sum(message.wire_bytes for message in decoded.messages) + len(decoded.strays) == len(data)
