"""Messages that more than one point sends: every user of the number, so that none has to be searched for."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from retrofit.midi.messages import PointMessage, ShoeMessage
from retrofit.midi.uses import Use, uses_of_message, uses_of_shoe


@dataclass(frozen=True, slots=True)
class Clash:
    """A number on a channel with the ids of all points that send it, in the order of the points."""

    use: Use
    users: tuple[str, ...]


def find_clashes(messages: Mapping[str, PointMessage], shoes: Mapping[str, ShoeMessage]) -> tuple[Clash, ...]:
    """Return every number that more than one point sends, sorted by channel, kind and number, each with all users."""
    users: dict[Use, list[str]] = defaultdict(list)
    for point, use in _all_uses(messages, shoes):
        users[use].append(point)
    return tuple(Clash(use, tuple(users[use])) for use in sorted(users) if len(users[use]) > 1)


def _all_uses(messages: Mapping[str, PointMessage], shoes: Mapping[str, ShoeMessage]) -> Iterator[tuple[str, Use]]:
    for point, message in messages.items():
        yield from ((point, use) for use in sorted(uses_of_message(message)))
    for point, shoe in shoes.items():
        yield from ((point, use) for use in sorted(uses_of_shoe(shoe)))
