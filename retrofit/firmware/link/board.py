"""A live board, asked in whole sentences: what needs several questions is put together here."""

from __future__ import annotations

import struct
from collections.abc import Callable

from retrofit.firmware.link import answers
from retrofit.firmware.link.answers import Capture, Captured, LaneSeen, Pace, RemapRow, ShoeSeen, Who
from retrofit.firmware.link.conversation import Conversation
from retrofit.firmware.link.errors import AnswerError
from retrofit.firmware.link.words import Count, Kind, Text

_TEXT_BYTES_MAX = 1024
"""Names are cut at 60 characters when they are written; what claims to be far longer is no name."""
_AGAIN = "start the command again; if it stays so, build and load the sketch again"


class LiveBoard:
    """A board at the other end of a conversation; every method raises as `Conversation.ask` does, and `AnswerError`."""

    def __init__(self, conversation: Conversation) -> None:
        """Greet the board, which may be starting, and keep who it is."""
        self._ask = conversation.ask
        self.who: Who = answers.who_of(conversation.greet(Kind.WHO))

    def text(self, which: Text) -> str:
        """Return one of the board's texts."""

        def piece(offset: int) -> tuple[int, int, bytes]:
            head, content = answers.piece_of(
                Kind.TEXT, "<B 2H", self._ask(Kind.TEXT, struct.pack("<BH", which, offset))
            )
            return head[1], head[2], content

        return _gathered(piece, _TEXT_BYTES_MAX, "its name").decode("utf-8", "replace")

    def description(self, progress: Callable[[int, int], None] | None = None) -> bytes:
        """Return the packed job description; empty where none is kept.  `progress` is told bytes read and in all."""
        total = self.who.description_bytes

        def piece(offset: int) -> tuple[int, int, bytes]:
            question = struct.pack("<I", offset)
            head, content = answers.piece_of(Kind.DESCRIPTION, "<I", self._ask(Kind.DESCRIPTION, question))
            if progress is not None:
                progress(offset + len(content), total)
            return head[0], total, content

        return _gathered(piece, total, "the job description") if total else b""

    def lanes(self) -> tuple[LaneSeen, ...]:
        """Return every lane as it stands now."""
        seen: list[LaneSeen] = []
        while len(seen) < self.who.lanes:
            more = answers.lanes_of(self._ask(Kind.LANES, bytes((len(seen),))))
            _refuse_nothing(more, "lanes")
            _refuse_other("lane", len(seen), more[0].index)
            seen += more
        return tuple(seen)

    def shoes(self) -> tuple[ShoeSeen, ...]:
        """Return every shoe as it stands now."""
        seen: list[ShoeSeen] = []
        while len(seen) < self.who.shoes:
            more = answers.shoes_of(self._ask(Kind.SHOES, bytes((len(seen),))))
            _refuse_nothing(more, "shoes")
            _refuse_other("shoe", len(seen), more[0].index)
            seen += more
        return tuple(seen)

    def counters(self) -> dict[Count, int]:
        """Return what the board has counted."""
        return answers.counters_of(self._ask(Kind.COUNTERS))

    def pace(self) -> Pace:
        """Return how long the work of a tick takes."""
        return answers.pace_of(self._ask(Kind.PACE))

    def capture(self, first_lane: int, rest_samples: int) -> Capture:
        """Begin to capture bounce, from a lane on, as many lanes as the board can, which is one at least."""
        capture = answers.capture_of(self._ask(Kind.CAPTURE, bytes((first_lane, rest_samples))))
        _refuse_other("lane", first_lane, capture.first_lane)
        if capture.lanes == 0:
            raise AnswerError(f"the board captures no lane when it is asked for lane {first_lane}", _AGAIN)
        return capture

    def captured(self, contact: int) -> Captured:
        """Return what was captured of a contact."""
        captured = answers.captured_of(self._ask(Kind.CAPTURED, struct.pack("<H", contact)))
        _refuse_other("contact", contact, captured.contact)
        return captured

    def remap_row(self, row: int) -> RemapRow:
        """Return a row of the list of contacts that play in place of others."""
        found = answers.remap_of(self._ask(Kind.REMAP, bytes((row,))))
        _refuse_other("row", row, found.row)
        return found

    def remap(self, contact: int, plays: int) -> None:
        """Let a contact send from now on what was planned for the other; itself takes it off the list."""
        self._ask(Kind.REMAP_PUT, struct.pack("<2H", contact, plays))

    def order(self, kind: Kind) -> None:
        """Ask for something that has no figures and brings none: to begin anew, to keep, to clear, to silence."""
        self._ask(kind)


def _refuse_nothing(found: tuple[object, ...], what: str) -> None:
    if not found:
        raise AnswerError(f"the board says how many {what} it has, and then shows fewer", _AGAIN)


def _refuse_other(what: str, asked: int, answered: int) -> None:
    if answered != asked:
        raise AnswerError(f"the board answers with {what} {answered} when it is asked for {what} {asked}", _AGAIN)


def _gathered(piece: Callable[[int], tuple[int, int, bytes]], most: int, what: str) -> bytes:
    """Return what arrives in pieces, each of which must follow the one before."""
    content = b""
    total = 1
    while len(content) < total:
        offset, total, more = piece(len(content))
        fits = offset == len(content) and len(content) + len(more) <= total <= most
        if not fits or (not more and len(content) < total):
            raise AnswerError(f"the pieces of {what} do not fit together at byte {len(content)}", _AGAIN)
        content += more
    return content
