"""What each message says, as a line: by the plan where there is one, by MIDI 1.0 where there is none."""

from __future__ import annotations

from dataclasses import dataclass

from retrofit.papers.message_list import message_words
from retrofit.proving.engine import Engine
from retrofit.proving.expected import ExpectedPoint

_EXCLUSIVE = 0xF0
_BYTES_SHOWN = 16


@dataclass(frozen=True, slots=True)
class Line:
    """One thing heard: the message, whose it is, if the plan knows, what that is called, and how it is now."""

    at_us: int
    message: bytes
    point: str | None
    words: str
    now: str

    @property
    def text(self) -> str:
        """The line for people."""
        return f"{self.words}: {self.now}" if self.now else self.words


class Lines:
    """Turns messages into lines, and counts them by the plan's engine; clock and the like are counted alone."""

    def __init__(self, engine: Engine | None) -> None:
        self.engine = engine
        self.messages = 0
        self.without_line = 0

    def of(self, at_us: int, message: bytes) -> Line | None:
        """Return the line of a message, or None for one that says nothing of contacts."""
        self.messages += 1
        line = self._bare(at_us, message) if self.engine is None else self._by_plan(self.engine, at_us, message)
        self.without_line += line is None
        return line

    def _by_plan(self, engine: Engine, at_us: int, message: bytes) -> Line | None:
        shoes, strays = engine.shoe_messages, engine.stray_messages
        changes = engine.feed([(at_us, message)])
        if changes:
            point = engine.expected.contacts[changes[0].contact]
            return Line(at_us, message, point.id, _called(point), "on" if changes[0].on else "off")
        if engine.shoe_messages != shoes:
            index, _ = engine.expected.shoes[message[:2]]
            shoe = engine.expected.shoe_points[index]
            value = engine.shoes[index].value
            now = "the first half of a value" if value is None else str(value)
            return Line(at_us, message, shoe.id, _called(shoe), now)
        if engine.stray_messages != strays:
            return Line(at_us, message, None, f"not in the plan: {_midi_words(message)}", "")
        return self._bare(at_us, message)

    @staticmethod
    def _bare(at_us: int, message: bytes) -> Line | None:
        if message[0] > _EXCLUSIVE:
            return None
        return Line(at_us, message, None, _midi_words(message), "")


def _called(point: ExpectedPoint) -> str:
    """Return what a point is called, with what makes one wonder at hearing it."""
    others = f", or {', '.join(point.shared_with)}" if point.shared_with else ""
    return f"{point.words}{others}{f' ({point.excuse})' if point.excuse else ''}"


def _midi_words(message: bytes) -> str:
    if message[0] == _EXCLUSIVE:
        more = " ..." if len(message) > _BYTES_SHOWN else ""
        return f"system exclusive, {len(message)} bytes: {message[:_BYTES_SHOWN].hex(' ').upper()}{more}"
    words = message_words(message)
    spoken = message.hex(" ").upper() if words == "another message" else words
    return f"channel {(message[0] & 0x0F) + 1}, {spoken}"
