"""The live engine: messages in, states and counts out.

It is pure: every message brings its time, and the same messages give the same state however they were bundled.  Each
message is counted exactly once, as one of the plan's contacts, one of its shoes, a stray one, or one that says nothing
of contacts (clock, active sensing, system exclusive and so on).
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from retrofit.proving.evidence import Stroke, stray_words
from retrofit.proving.expected import Expected, is_momentary
from retrofit.proving.segments import Segmenter
from retrofit.proving.tally import ContactTally, ShoeTally
from retrofit.timing.human import KEY_UP

RETRIGGER_US = int(KEY_UP.least * 1000)
"""An on this soon after the off is no hand: nobody repeats a key faster."""
STRAYS_KEPT = 256
"""Different messages of no point that are counted one by one; what goes beyond is counted together."""
HELD_REPORT = bytes((0xF0, 0x7D, 0x01))
"""Begins the board's report of a contact that was on at power-on."""
_SYSTEM = 0xF0


class Change(NamedTuple):
    """A contact of the plan, by its index, that went on or off; `began` is True when a stroke began with it."""

    time_us: int
    contact: int
    on: bool
    began: bool


class Engine:
    """The state of a console as it is heard."""

    def __init__(self, expected: Expected, retrigger_us: int = RETRIGGER_US) -> None:
        self.expected = expected
        self.retrigger_us = retrigger_us
        self.contacts = [ContactTally() for _ in expected.contacts]
        self.shoes = [ShoeTally() for _ in expected.shoe_points]
        self.strays: dict[str, int] = {}
        self.strays_beyond = 0
        self.others: dict[int, int] = {}
        self.held_at_start: list[int] = []
        self.messages = 0
        self.contact_messages = 0
        self.shoe_messages = 0
        self.now_us = 0
        self._segmenter = Segmenter(retrigger_us)
        self._names = [point.id for point in expected.contacts]
        fine = {index for index, is_fine in expected.shoes.values() if is_fine}
        self._has_fine = [index in fine for index in range(len(expected.shoe_points))]

    @property
    def stray_messages(self) -> int:
        """Messages that no point of the plan sends."""
        return sum(self.strays.values()) + self.strays_beyond

    @property
    def other_messages(self) -> int:
        """Messages that say nothing of contacts."""
        return sum(self.others.values())

    def on_now(self) -> list[int]:
        """Return the indices of the contacts that are on."""
        return [index for index, tally in enumerate(self.contacts) if tally.is_on]

    def feed(self, batch: Iterable[tuple[int, bytes]]) -> list[Change]:
        """Take messages with their times in microseconds, oldest first; return what changed."""
        changes: list[Change] = []
        notes, switches, shoes = self.expected.notes, self.expected.switches, self.expected.shoes
        for time_us, message in batch:
            self.messages += 1
            self.now_us = time_us
            status = message[0]
            if status < 0xA0:  # note-on and note-off (MIDI 1.0, table I)
                index = notes.get(message[:2] if status >= 0x90 else bytes((status | 0x10, message[1])))
                if index is not None:
                    self._switch(index, status >= 0x90 and message[2] != 0, time_us, changes)
                    continue
            elif status < _SYSTEM:
                if self._take_other_channel_message(message, time_us, switches, shoes, changes):
                    continue
            else:
                self._take_system(message)
                continue
            self._stray(message)
        return changes

    def _switch(self, index: int, on: bool, time_us: int, changes: list[Change]) -> None:
        self.contact_messages += 1
        began = self.contacts[index].switch(on, time_us, self.retrigger_us)
        self._segmenter.switch(self._names[index], on, time_us)
        changes.append(Change(time_us, index, on, began))

    def _take_other_channel_message(
        self,
        message: bytes,
        time_us: int,
        switches: dict[bytes, tuple[int, bool]],
        shoes: dict[bytes, tuple[int, bool]],
        changes: list[Change],
    ) -> bool:
        """Take a message that may be a switch's or a shoe's; return whether it was one."""
        switch = switches.get(message)
        if switch is not None:
            index, on = switch
            self._switch(index, on, time_us, changes)
            if is_momentary(message):
                self._let_go(index, time_us)
            return True
        shoe = shoes.get(message[:2])
        if shoe is None:
            return False
        index, fine = shoe
        self.shoe_messages += 1
        self.shoes[index].take(message[2], fine, self._has_fine[index])
        return True

    def _let_go(self, index: int, time_us: int) -> None:
        """End a stroke whose message has no counterpart; no message is counted for it."""
        self.contacts[index].is_on = False
        self._segmenter.switch(self._names[index], False, time_us)

    def _take_system(self, message: bytes) -> None:
        self.others[message[0]] = self.others.get(message[0], 0) + 1
        if message.startswith(HELD_REPORT) and len(message) == len(HELD_REPORT) + 3:
            self.held_at_start.append(message[3] << 7 | message[4])

    def _stray(self, message: bytes) -> None:
        words = stray_words(message)
        if words in self.strays or len(self.strays) < STRAYS_KEPT:
            self.strays[words] = self.strays.get(words, 0) + 1
        else:
            self.strays_beyond += 1

    def strokes(self, now_us: int) -> list[Stroke]:
        """Return the presses that are finished by now, oldest first; each is returned once."""
        return self._segmenter.finished(now_us)
