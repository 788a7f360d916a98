"""Messages of no point: counted by their words, and understood as ons and offs where the plan's own say such things.

A plug in the wrong place, a wrong channel or a coupler makes a contact speak in words that no point of the plan has;
whoever looks for the cause wants to know when it did.
"""

from __future__ import annotations

from retrofit.midi.messages import NOTE_OFF, NOTE_ON
from retrofit.midi.names import note_name
from retrofit.proving.evidence import stray_words
from retrofit.proving.expected import Expected

STRAYS_KEPT = 256
"""Different messages of no point that are counted one by one; what goes beyond is counted together."""


class Strays:
    """Counts of strays: `by_words` one by one, `beyond` together."""

    def __init__(self, expected: Expected) -> None:
        self.by_words: dict[str, int] = {}
        self.beyond = 0
        self._states = _states(expected)

    @property
    def messages(self) -> int:
        """All of them."""
        return sum(self.by_words.values()) + self.beyond

    def count(self, message: bytes) -> None:
        """Count one."""
        words = stray_words(message)
        if words in self.by_words or len(self.by_words) < STRAYS_KEPT:
            self.by_words[words] = self.by_words.get(words, 0) + 1
        else:
            self.beyond += 1

    def state(self, message: bytes) -> bool | None:
        """Return whether a message says on or off, or None when it is nothing that a contact would say."""
        kind = message[0] & 0xF0
        if kind in (NOTE_ON, NOTE_OFF):
            return kind == NOTE_ON and message[2] != 0
        return self._states.get((kind, message[2:]))


def spoken_as(message: bytes) -> str:
    """Return what a stray contact is called, whether it says on or off: by its on (a note has two forms of off)."""
    if message[0] & 0xF0 == NOTE_OFF:
        return stray_words(bytes((message[0] | 0x10, message[1])))
    return stray_words(message)


def stray_told(words: str) -> str:
    """Return what a person is told of a stray of these words: of a note, which one and on which channel."""
    status, number = bytes.fromhex(words)[0], bytes.fromhex(words)[-1]
    if status & 0xF0 in (NOTE_ON, NOTE_OFF):
        return f"message {words} of no point ({note_name(number)} on channel {(status & 0x0F) + 1})"
    return f"message {words} of no point"


def _states(expected: Expected) -> dict[tuple[int, bytes], bool]:
    """Return what a status and a value mean among the plan's switches; what means both means nothing."""
    meanings: dict[tuple[int, bytes], set[bool]] = {}
    for message, (_, on) in expected.switches.items():
        meanings.setdefault((message[0] & 0xF0, message[2:]), set()).add(on)
    return {key: True in states for key, states in meanings.items() if len(states) == 1}
