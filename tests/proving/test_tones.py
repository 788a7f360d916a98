"""Tones: high is right, low is wrong, and no note is ever left sounding."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from retrofit.proving.runs.says import Say, Sound
from retrofit.proving.tones import ASK_NOTE, HIGH_NOTE, LOW_NOTE, TONE_US, ToneChoice, Tones


def test_right_is_high_and_wrong_is_low() -> None:
    """Each sound is a note-on of its own note on the chosen channel (MIDI 1.0: 9n, n one below the channel)."""
    sent: list[bytes] = []
    tones = Tones(sent.append, ToneChoice(channel=3))
    for sound in (Sound.PASS, Sound.FAIL, Sound.ASK, None):
        tones.say(Say("", sound), 0)
    assert [(message[0], message[1]) for message in sent] == [(0x92, HIGH_NOTE), (0x92, LOW_NOTE), (0x92, ASK_NOTE)]


def test_the_note_itself_sounds_when_asked_for() -> None:
    """Beside the tone, and never twice."""
    sent: list[bytes] = []
    tones = Tones(sent.append, ToneChoice(own_note=True))
    tones.say(Say("", Sound.PASS, 60), 0)
    tones.say(Say("", Sound.FAIL, LOW_NOTE), 0)
    assert [message[1] for message in sent] == [HIGH_NOTE, 60, LOW_NOTE]


def test_a_tone_ends_by_itself() -> None:
    """After its time, not before."""
    sent: list[bytes] = []
    tones = Tones(sent.append)
    tones.say(Say("", Sound.PASS), 0)
    tones.pass_time(TONE_US - 1)
    assert len(sent) == 1
    tones.pass_time(TONE_US)
    assert sent[1][:2] == bytes((0x8F, HIGH_NOTE))


@given(st.lists(st.tuples(st.sampled_from([*Sound, None]), st.integers(0, 127), st.integers(0, 400_000))))
def test_every_note_that_began_ends(said: list[tuple[Sound | None, int, int]]) -> None:
    """Whatever is said, after closing no note sounds, and none is begun twice without an end between."""
    sent: list[bytes] = []
    tones, now_us = Tones(sent.append, ToneChoice(own_note=True)), 0
    for sound, note, later_us in said:
        now_us += later_us
        tones.pass_time(now_us)
        tones.say(Say("", sound, note), now_us)
    tones.close()
    sounding: set[int] = set()
    for status, note, _ in sent:
        begins = status & 0xF0 == 0x90
        assert begins != (note in sounding)
        (sounding.add if begins else sounding.discard)(note)
    assert not sounding
