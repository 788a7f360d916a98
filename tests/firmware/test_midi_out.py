"""Bytes on the wire: running status as receivers read it, and given up when it must be."""

from __future__ import annotations

import io
import random

import music21
import pretty_midi
import pytest

from tests.firmware.console import Console, build_console
from tests.firmware.midi_file import decode, track, with_delta_times
from tests.firmware.table_text import chain_of_keys

TICKS_PER_SECOND = 4000  # the sample console ticks every 250 microseconds


@pytest.fixture
def playing(sample: Console) -> Console:
    """The sample console past its start."""
    sample.ports[0] = 0x0F
    sample.run(400)
    sample.take()
    return sample


def toggle_stop(console: Console) -> bytes:
    """Move a stop, whose on and off share a status; return the bytes that this sends."""
    console.registers[4] ^= 0x01
    console.run(20)
    return console.take()


def test_a_status_is_sent_once_for_messages_that_share_it(playing: Console) -> None:
    """A chord of three on one channel is 7 bytes, not 9 (MIDI 1.0 Detailed Specification: running status)."""
    playing.registers[0] = 0xFF & ~0x07
    playing.run(40)
    assert playing.take() == bytes((0x90, 36, 100, 37, 100, 38, 100))


def test_program_change_has_one_data_byte(playing: Console) -> None:
    """A program change is two bytes, one under running status (MIDI 1.0 Detailed Specification, Table I)."""
    for mask in (0x01, 0x02):
        playing.ports[0] ^= mask
        playing.run(20)
    assert playing.take() == bytes((0xC3, 0, 1))


@pytest.mark.parametrize(("silent_ms", "sent"), [(250, (20, 0)), (310, (0xB2, 20, 0))])
def test_status_is_renewed_after_300_ms_of_silence(playing: Console, silent_ms: int, sent: tuple[int, ...]) -> None:
    """Running status is kept for 250 ms without a message, and given up by 310 ms (common practice, no source)."""
    assert toggle_stop(playing) == bytes((0xB2, 20, 127))
    playing.run(silent_ms * TICKS_PER_SECOND // 1000 - 20)
    assert toggle_stop(playing) == bytes(sent)


def test_status_is_renewed_every_second(playing: Console) -> None:
    """A stream of messages of one status repeats that status at least every second (common practice, no source)."""
    seconds = 4
    for _ in range(seconds * TICKS_PER_SECOND // 40):
        playing.registers[4] ^= 0x01
        playing.run(40)
    statuses = [byte for byte in playing.take() if byte & 0x80]
    assert len(statuses) in {seconds, seconds + 1}


def random_playing(console: Console, seed: int) -> bytes:
    """Bytes of a while of random playing on keys, stops and pistons."""
    hands = random.Random(seed)
    for _ in range(120):
        console.registers[hands.choice((0, 1, 2, 4))] = hands.getrandbits(8)
        console.ports[0] = hands.getrandbits(8)
        console.run(hands.choice((1, 5, 40, 200, 1500)))
    for register in (0, 1, 2, 4):
        console.registers[register] = 0xFF
    console.run(600)
    return console.take()


def test_file_readers_agree_on_what_was_played(playing: Console) -> None:
    """music21, pretty_midi and mido, each reading the stream as a Standard MIDI File, find the same note-ons."""
    sent = random_playing(playing, 7)
    wrapped = track(with_delta_times(sent))
    ours = sorted((m[0] & 0x0F, m[1]) for m in decode(sent) if m[0] >> 4 == 0x9)
    score = music21.midi.MidiFile()
    score.readstr(wrapped)
    theirs = sorted((e.channel - 1, e.pitch) for t in score.tracks for e in t.events if e.isNoteOn())
    assert ours == theirs
    assert len(ours) > 50
    channels = {n.pitch for i in pretty_midi.PrettyMIDI(io.BytesIO(wrapped)).instruments for n in i.notes}
    assert channels <= {pitch for _, pitch in ours}


def test_every_note_on_is_followed_by_its_off(playing: Console) -> None:
    """After all keys are released every note that was switched on has been switched off, on its own channel."""
    sounding: set[tuple[int, int]] = set()
    for message in decode(random_playing(playing, 8)):
        if message[0] >> 4 == 0x9:
            sounding.add((message[0] & 0x0F, message[1]))
        elif message[0] >> 4 == 0x8:
            sounding.remove((message[0] & 0x0F, message[1]))
    assert not sounding


def test_without_running_status_every_message_is_whole(tmp_path_factory: pytest.TempPathFactory) -> None:
    """RUNNING_STATUS 0 sends the status with each message."""
    console = build_console(tmp_path_factory.mktemp("plain"), chain_of_keys(1, 4, RUNNING_STATUS=0))
    console.run(100)
    console.take()
    console.registers[0] = 0xFC
    console.run(40)
    assert console.take() == bytes((0x90, 36, 100, 0x90, 37, 100))
