"""Playing a recording again, in its own time or as fast as it goes."""

from __future__ import annotations

from retrofit.proving.ports.replay import AT_ONCE, Replay
from retrofit.proving.sources import Losses

SONG = [(0, b"\x90\x3c\x40"), (1_000, b"\x80\x3c\x40"), (1_000, b"\x90\x3e\x40"), (5_000, b"\x80\x3e\x40")]


def test_in_its_own_time_a_message_falls_due_when_its_time_has_come() -> None:
    """Nothing comes early, nothing is left out, and the times are those of the clock that it is played by."""
    now = [70_000]
    with Replay("song", SONG, now=lambda: now[0]) as source:
        assert source.poll() == [(70_000, SONG[0][1])]
        now[0] += 999
        assert source.poll() == []
        now[0] += 1
        assert source.poll() == [(71_000, SONG[1][1]), (71_000, SONG[2][1])]
        assert not source.ended
        now[0] += 1_000_000
        assert source.poll() == [(75_000, SONG[3][1])]
        assert (source.ended, source.away, source.words, source.losses) == (True, False, "song", Losses())


def test_fast_it_gives_all_that_there_is_in_bounded_portions() -> None:
    """Times are those of the recording, and a long recording comes in several portions."""
    long = [(count, bytes((0xF8,))) for count in range(AT_ONCE + 10)]
    with Replay("song", long, fast=True) as source:
        first = source.poll()
        assert len(first) == AT_ONCE
        assert first + source.poll() == long
        assert source.ended


def test_an_empty_recording_has_ended_from_the_beginning() -> None:
    """There is nothing to wait for."""
    with Replay("nothing", []) as source:
        assert (source.ended, source.poll()) == (True, [])


def test_it_can_be_played_again_from_the_beginning() -> None:
    """Entering anew begins anew, and leaving ends it wherever it was."""
    source = Replay("song", SONG, fast=True)
    with source:
        assert source.poll() == SONG
    with source:
        assert source.poll() == SONG
    assert source.ended
