"""Decoding what the firmware sends with a Standard MIDI File reader, which resolves running status by the standard.

The bytes are wrapped in one track (Standard MIDI Files 1.0, RP-001); running status within a track follows the
same rule as on the wire (MIDI 1.0 Detailed Specification).
"""

from __future__ import annotations

import io

import mido

Message = tuple[int, ...]


def track(events: bytes) -> bytes:
    """A format 0 file of one track with `events` (each already led by its delta time) and an end-of-track event."""
    body = events + b"\x00\xff\x2f\x00"
    return (
        b"MThd" + (6).to_bytes(4, "big") + b"\x00\x00\x00\x01\x01\xe0" + b"MTrk" + len(body).to_bytes(4, "big") + body
    )


def with_delta_times(sent: bytes) -> bytes:
    """Put a delta time of 0 before every message, leaving running status as it was sent.

    A system exclusive message is written as a file demands: its status, then the length of the rest.
    """
    out = bytearray()
    position = 0
    status = 0
    while position < len(sent):
        out.append(0)
        if sent[position] == 0xF0:
            end = sent.index(0xF7, position) + 1
            out += bytes((0xF0, end - position - 1)) + sent[position + 1 : end]
            position, status = end, 0
            continue
        start = position
        if sent[position] & 0x80:
            status = sent[position]
            position += 1
        assert status, f"data byte {sent[start]:02X} at {start} without a status before it"
        position += 1 if status & 0xE0 == 0xC0 else 2
        assert position <= len(sent), "the last message is incomplete"
        out += sent[start:position]
    return bytes(out)


def decode(sent: bytes) -> list[Message]:
    """Whole messages as tuples of bytes, in order."""
    file = mido.MidiFile(file=io.BytesIO(track(with_delta_times(sent))))
    return [tuple(message.bytes()) for message in file.tracks[0] if not message.is_meta]


def last_status(sent: bytes, before: bytes) -> bytes:
    """The running status that holds after `sent`, as one byte, or none after a system exclusive message."""
    for byte in reversed(sent):
        if byte & 0x80:
            return b"" if byte >= 0xF0 else bytes((byte,))
    return before
