"""Random MIDI streams, and two independent readers of Standard MIDI Files to decode them.

In a track running status follows the same rule as on a wire (Standard MIDI Files 1.0, RP-001; MIDI 1.0 Detailed
Specification), which makes file readers an oracle for it.
"""

from __future__ import annotations

import io
from collections.abc import Sequence

import mido
import music21.midi
from hypothesis import strategies as st

SEVEN_BIT = st.integers(0, 127)


@st.composite
def channel_messages(draw: st.DrawFn) -> bytes:
    """Any channel message; pitch bend and pressure too."""
    status = draw(st.integers(0x80, 0xEF))
    count = 1 if status & 0xE0 == 0xC0 else 2
    return bytes((status, *(draw(SEVEN_BIT) for _ in range(count))))


def with_running_status(messages: Sequence[bytes]) -> bytes:
    """Leave out each status that is the one before."""
    out, running = bytearray(), 0
    for message in messages:
        out += message[1:] if message[0] == running else message
        running = message[0]
    return bytes(out)


def _track(messages: Sequence[bytes]) -> bytes:
    """A file of one track whose events keep running status, each after a delta time of 0."""
    body, running = bytearray(), 0
    for message in messages:
        body += b"\0" + (message[1:] if message[0] == running else message)
        running = message[0]
    body += b"\0\xff\x2f\0"
    return b"MThd\0\0\0\x06\0\0\0\x01\x01\xe0MTrk" + len(body).to_bytes(4, "big") + body


def read_by_mido(messages: Sequence[bytes]) -> list[bytes]:
    """Decode by mido's file reader."""
    file = mido.MidiFile(file=io.BytesIO(_track(messages)))
    return [bytes(message.bytes()) for message in file.tracks[0] if not message.is_meta]


def read_by_music21(messages: Sequence[bytes]) -> list[tuple[int, int, int]]:
    """Decode the notes by music21: kind (8 or 9), channel from 1, pitch."""
    file = music21.midi.MidiFile()
    file.readstr(_track(messages))
    kinds = {music21.midi.ChannelVoiceMessages.NOTE_ON: 9, music21.midi.ChannelVoiceMessages.NOTE_OFF: 8}
    return [
        (kinds[event.type], event.channel or 0, event.pitch or 0)
        for event in file.tracks[0].events
        if isinstance(event.type, music21.midi.ChannelVoiceMessages) and event.type in kinds
    ]
