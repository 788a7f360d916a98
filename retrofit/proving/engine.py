"""The live engine: messages in, states and counts out.

It is pure: every message brings its time, and the same messages give the same state however they were bundled.  Each
message is counted exactly once, as one of the plan's contacts, one of its shoes, a stray one, or one that says nothing
of contacts (clock, active sensing, system exclusive, channel mode and so on).  What is kept is bounded, however long it
runs; what is counted is not.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable
from typing import NamedTuple

from retrofit.midi.messages import CONTROL_CHANGE, NOTE_ON
from retrofit.proving.evidence import Stroke
from retrofit.proving.expected import Expected, is_momentary
from retrofit.proving.segments import Segmenter
from retrofit.proving.strays import Strays, spoken_as
from retrofit.proving.tally import ContactTally, ShoeTally
from retrofit.proving.together import GroupTally
from retrofit.proving.windows import KEY_UP_US, Windows
from retrofit.survey.points import PointKind

HELD_KEPT = 1024
"""Different contacts held at power-on that are remembered."""
RECENT_KEPT = 8
"""Newest strokes among which a stroke's companions are looked for: in a flood, not all of them are told."""
HELD_REPORT = bytes((0xF0, 0x7D, 0x01))
"""Begins the board's report of a contact that was on at power-on."""
FIRST_MODE = 120
"""Controllers from here on are channel mode messages (MIDI 1.0, Table III)."""
SILENCING = frozenset((120, *range(123, 128)))
"""Channel mode messages that end all notes of their channel: all sound off, all notes off, and the four modes."""
NO_KEY = -1
"""Stands for the key of what is no contact of the plan."""
_SYSTEM = 0xF0


class Change(NamedTuple):
    """A contact of the plan, by its index, that went on or off; `began` is True when a stroke began with it."""

    time_us: int
    contact: int
    on: bool
    began: bool


class Engine:
    """The state of a console as it is heard.

    `contacts` and `shoes` stand in the order of what is expected, `groups` has the groups of keys by id; `others`
    are counted by status byte.  `held_at_start` are the board's numbers of contacts that it reported as on at
    power-on, `held` the indices of those that have said nothing since: the board mutes them until they are released.
    """

    def __init__(self, expected: Expected) -> None:
        self.expected = expected
        self.contacts = [ContactTally() for _ in expected.contacts]
        self.shoes = [ShoeTally() for _ in expected.shoe_points]
        self.groups = _group_tallies(expected)
        self._strays = Strays(expected)
        self.others: dict[int, int] = {}
        self.held_at_start: list[int] = []
        self.held: set[int] = set()
        self.messages = 0
        self.contact_messages = 0
        self.shoe_messages = 0
        self.now_us = 0
        self._segmenter = Segmenter()
        self._names = [point.id for point in expected.contacts]
        self._retrigger_us = [_windows(expected, point.group).retrigger_us for point in expected.contacts]
        self._group_of = [self.groups.get(point.group) for point in expected.contacts]
        self._key_of = _keys(expected)
        self._alone_since = [-1] * len(expected.contacts)
        self._instant_us = max((_windows(expected, group).instant_us for group in self.groups), default=0)
        self._recent: deque[tuple[int, str, int, ContactTally | None]] = deque(maxlen=RECENT_KEPT)
        self._channels = {key[0] & 0x0F for key in (*expected.notes, *expected.switches, *expected.shoes)}
        fine = {index for index, is_fine in expected.shoes.values() if is_fine}
        self._has_fine = [index in fine for index in range(len(expected.shoe_points))]

    @property
    def strays(self) -> dict[str, int]:
        """How often what of no point was heard, by its words."""
        return self._strays.by_words

    @property
    def stray_messages(self) -> int:
        """Messages that no point of the plan sends, those included that `strays` has no room for."""
        return self._strays.messages

    @property
    def other_messages(self) -> int:
        """Messages that say nothing of contacts."""
        return sum(self.others.values())

    @property
    def presses_forgotten(self) -> int:
        """Finished or long presses that nobody asked for in time."""
        return self._segmenter.forgotten

    def on_now(self) -> list[int]:
        """Return the indices of the contacts that are on."""
        return [index for index, tally in enumerate(self.contacts) if tally.is_on]

    def feed(self, batch: Iterable[tuple[int, bytes]]) -> list[Change]:
        """Take messages with their times in microseconds, oldest first; return what changed."""
        changes: list[Change] = []
        notes = self.expected.notes
        for time_us, message in batch:
            self.messages += 1
            self.now_us = time_us
            status = message[0]
            if status < 0xA0:  # note-on and note-off (MIDI 1.0, table I)
                index = notes.get(message[:2] if status >= NOTE_ON else bytes((status | 0x10, message[1])))
                if index is not None:
                    self._switch(index, status >= NOTE_ON and message[2] != 0, time_us, changes)
                    continue
            elif status >= _SYSTEM:
                self._take_system(message)
                continue
            elif self._take_other_channel_message(message, time_us, changes):
                continue
            self._take_stray(message, time_us)
        return changes

    def _switch(self, index: int, on: bool, time_us: int, changes: list[Change]) -> None:
        self.contact_messages += 1
        if self.held:
            self.held.discard(index)
        tally, window_us = self.contacts[index], self._retrigger_us[index]
        was_on = tally.is_on
        began = tally.switch(on, time_us, window_us)
        if began:
            self._meet(self._names[index], self._key_of[index], tally, time_us)
        group = self._group_of[index]
        if group is not None:
            group.speak(self._key_of[index], time_us)
            if on != was_on:
                self._count_alone(index, group, began, time_us)
        self._segmenter.switch(self._names[index], on, time_us, window_us)
        changes.append(Change(time_us, index, on, began))

    def _count_alone(self, index: int, group: GroupTally, began: bool, time_us: int) -> None:
        """Keep the length of a stroke from whose beginning to whose end no other contact of its group was on.

        A key with several contacts is never alone in this sense.
        """
        tally = self.contacts[index]
        if tally.is_on:
            group.on += 1
            if began:
                group.begun += 1
                self._alone_since[index] = group.begun if group.on == 1 else -1
            return
        group.on -= 1
        if self._alone_since[index] == group.begun and not tally.stroke_retriggers:
            tally.on_times.append(time_us - tally.stroke_us)

    def _meet(self, name: str, key: int, tally: ContactTally | None, time_us: int) -> None:
        """Let what began in one instant know of each other, contacts of the plan as well as strays.

        Contacts under one key are meant to speak together, and are no company.
        """
        recent, since_us = self._recent, time_us - self._instant_us
        for at_us, other_name, other_key, other in reversed(recent):
            if at_us < since_us:
                break
            if other_key == key != NO_KEY:
                continue
            if tally is not None:
                tally.accompany(other_name)
            if other is not None:
                other.accompany(name)
        recent.append((time_us, name, key, tally))

    def _take_other_channel_message(self, message: bytes, time_us: int, changes: list[Change]) -> bool:
        """Take a message that may be a switch's, a shoe's or a channel mode; return whether it was one."""
        switch = self.expected.switches.get(message)
        if switch is not None:
            index, on = switch
            self._switch(index, on, time_us, changes)
            if is_momentary(message):
                self._let_go(index, time_us)
            return True
        shoe = self.expected.shoes.get(message[:2])
        if shoe is not None:
            index, fine = shoe
            self.shoe_messages += 1
            self.shoes[index].take(message[2], fine, self._has_fine[index])
            return True
        return self._take_mode(message, time_us, changes)

    def _take_mode(self, message: bytes, time_us: int, changes: list[Change]) -> bool:
        """Take a channel mode message on a channel of the plan, as a board sends to silence what it left sounding."""
        status = message[0]
        if status & 0xF0 != CONTROL_CHANGE or message[1] < FIRST_MODE or status & 0x0F not in self._channels:
            return False
        self.others[status] = self.others.get(status, 0) + 1
        if message[1] in SILENCING:
            note_on = NOTE_ON | status & 0x0F
            for key, index in self.expected.notes.items():
                if key[0] == note_on and self.contacts[index].is_on:
                    self._let_go(index, time_us)
                    changes.append(Change(time_us, index, False, False))
        return True

    def _let_go(self, index: int, time_us: int) -> None:
        """End a stroke by no message of its own; none is counted for it."""
        self.contacts[index].silence()
        group = self._group_of[index]
        if group is not None:
            group.on -= 1
        self._segmenter.switch(self._names[index], False, time_us, self._retrigger_us[index])

    def _take_system(self, message: bytes) -> None:
        self.others[message[0]] = self.others.get(message[0], 0) + 1
        if message.startswith(HELD_REPORT) and len(message) == len(HELD_REPORT) + 3:
            contact = message[3] << 7 | message[4]
            if contact not in self.held_at_start and len(self.held_at_start) < HELD_KEPT:
                self.held_at_start.append(contact)
            index = self.expected.numbers.get(contact)
            if index is not None and not self.contacts[index].is_on:
                self.held.add(index)

    def _take_stray(self, message: bytes, time_us: int) -> None:
        """Count what no point says; what sounds like a contact belongs to presses all the same."""
        self._strays.count(message)
        on = self._strays.state(message)
        if on is None:
            return
        name = spoken_as(message)
        if on:
            self._meet(name, NO_KEY, None, time_us)
        self._segmenter.switch(name, on, time_us, KEY_UP_US)
        if is_momentary(message):
            self._segmenter.switch(name, False, time_us, KEY_UP_US)

    def strokes(self, now_us: int) -> list[Stroke]:
        """Return the presses that are finished by now, oldest first; each is returned once."""
        return self._segmenter.finished(now_us)


def _windows(expected: Expected, group: str) -> Windows:
    return expected.windows.get(group) or Windows()


def _keys(expected: Expected) -> list[int]:
    """Return a number for each contact, the same for contacts under one key."""
    numbers: dict[tuple[str, object], int] = {}
    under = ((p.group, p.id if p.note is None else p.note) for p in expected.contacts)
    return [numbers.setdefault(key, len(numbers)) for key in under]


def _group_tallies(expected: Expected) -> dict[str, GroupTally]:
    """Return a tally for each group that has keys."""
    notes: dict[str, set[int | None]] = {}
    for point in expected.contacts:
        if point.kind is PointKind.KEY:
            notes.setdefault(point.group, set()).add(point.note)
    return {id_: GroupTally(len(keys), _windows(expected, id_).burst_us) for id_, keys in notes.items()}
