"""Sounds as MIDI messages, so that whoever is inside the console hears how it goes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from retrofit.midi.messages import note_off, note_on
from retrofit.proving.runs.says import Say, Sound

HIGH_NOTE, LOW_NOTE, ASK_NOTE = 96, 36, 84
TONE_US = 150_000
"""How long a tone sounds; common practice, no source: long enough to be known, over before the next press."""
VELOCITY = 64


@dataclass(frozen=True, slots=True)
class ToneChoice:
    """How tones are sent: on which channel (1-16), and whether the point's own note is played as well."""

    channel: int = 16
    own_note: bool = False


class Tones:
    """Sends a tone for each sound: high is right, low is wrong, and each ends after a while.

    `send` takes one MIDI message.  Every note that was begun is ended by `close`, whatever happened.
    """

    def __init__(self, send: Callable[[bytes], object], choice: ToneChoice | None = None) -> None:
        self._send = send
        self._choice = choice or ToneChoice()
        self._ends_us: dict[int, int] = {}

    def say(self, say: Say, now_us: int) -> None:
        """Sound what was said, if it has a sound."""
        for note in tone_notes(say, self._choice.own_note):
            if note in self._ends_us:
                self._send(note_off(self._choice.channel, note))
            self._send(note_on(self._choice.channel, note, VELOCITY))
            self._ends_us[note] = now_us + TONE_US

    def pass_time(self, now_us: int) -> None:
        """End the tones whose time is over."""
        for note in [note for note, end_us in self._ends_us.items() if end_us <= now_us]:
            del self._ends_us[note]
            self._send(note_off(self._choice.channel, note))

    def close(self) -> None:
        """End every tone that sounds."""
        for note in self._ends_us:
            self._send(note_off(self._choice.channel, note))
        self._ends_us.clear()


def tone_notes(say: Say, own_note: bool) -> tuple[int, ...]:
    """Return the notes that sound for what was said."""
    match say.sound:
        case None:
            return ()
        case Sound.PASS:
            signal = HIGH_NOTE
        case Sound.FAIL:
            signal = LOW_NOTE
        case Sound.ASK:
            signal = ASK_NOTE
    own = say.note if own_note and say.note is not None and say.note != signal else None
    return (signal,) if own is None else (signal, own)
