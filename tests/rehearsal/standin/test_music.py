"""Music from Standard MIDI Files, which mido writes and the stand-in plays."""

from __future__ import annotations

from pathlib import Path

import mido
import pytest

from retrofit.catalogue.load import load_catalogue
from retrofit.rehearsal.standin.hands import KeyMove, ShoeMove
from retrofit.rehearsal.standin.music import MusicError, music_of
from retrofit.rehearsal.standin.stand_ins import stand_in
from tests.rehearsal.standin.consoles import FAMILIES, plan_of

PLAN = plan_of(FAMILIES)


def written(folder: Path, *messages: mido.Message, kind: int = 0) -> Path:
    """Write messages, each half a second after the one before (480 ticks at 120 to the minute)."""
    file = mido.MidiFile(type=kind, ticks_per_beat=480)
    track = mido.MidiTrack()
    file.tracks.append(track)
    track += [message.copy(time=480) for message in messages]
    path = folder / "piece.mid"
    file.save(path)
    return path


def note(number: int, strength: int, channel: int = 1) -> mido.Message:
    """Return a note-on."""
    return mido.Message("note_on", channel=channel, note=number, velocity=strength)


def test_notes_stops_and_shoes_are_moved(tmp_path: Path) -> None:
    """A note of the plan moves its key, at its time; a note-on without strength lets go; other channels are counted."""
    off = mido.Message("note_off", channel=2, note=40, velocity=1)
    shoe = mido.Message("control_change", channel=0, control=11, value=127)
    stray = note(60, 9, channel=8)
    music = music_of(written(tmp_path, note(40, 3), note(40, 0), note(40, 7, 2), off, shoe, stray), PLAN)
    half_us = 500_000
    assert music.moves == (
        KeyMove(half_us, "great.40", True),
        KeyMove(2 * half_us, "great.40", False),
        KeyMove(3 * half_us, "swell.40", True),
        KeyMove(4 * half_us, "swell.40", False),
        ShoeMove(5 * half_us, "shoes.swell", 1.0),
    )
    assert (music.seconds, music.not_here) == (3.0, 1)


@pytest.mark.parametrize("kind", [0, 1])
def test_music_is_heard_as_it_was_written(tmp_path: Path, kind: int) -> None:
    """Played on the stand-in, a scale comes out note for note."""
    scale = [note(36 + n, strength) for n in range(12) for strength in (100, 0)]
    console = stand_in(PLAN, load_catalogue())
    console.do(music_of(written(tmp_path, *scale, kind=kind), PLAN).moves)
    heard = [message for _, message in console.advance(14_000_000) if message[0] == 0x91]
    assert heard == [bytes(message.bytes()) for message in scale]


@pytest.mark.parametrize("content", [b"", b"MThd", b"no music at all", b"MThd\0\0\0\6\0\0\0\1\1\xe0MTrk\0\0\0\4\0\x90"])
def test_what_is_no_music_is_refused(tmp_path: Path, content: bytes) -> None:
    """A file that is cut short, or is something else, is named with what is allowed."""
    path = tmp_path / "broken.mid"
    path.write_bytes(content)
    with pytest.raises(MusicError, match="allowed is a Standard MIDI File") as refused:
        music_of(path, PLAN)
    assert str(path) in str(refused.value)
    with pytest.raises(MusicError, match="missing"):
        music_of(tmp_path / "missing.mid", PLAN)
