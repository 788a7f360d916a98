"""Strokes as a player makes them, with the bounce of every edge: what the simulated contacts go through.

A contact rests, is struck, held and let go, again and again.  Each rest and each hold is its shortest time and an
exponential time more.  The figures for keys are common practice, no source; those of other controls are assumed.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from retrofit.rehearsal.bounce import NS_PER_US, Bounce, Bursts, Times
from retrofit.survey.points import PointKind


@dataclass(frozen=True, slots=True)
class Playing:
    """Shortest and mean times of a hold and of the rest before it, in milliseconds."""

    shortest_down_ms: float
    mean_down_ms: float
    shortest_up_ms: float
    mean_up_ms: float

    @property
    def stroke_ms(self) -> float:
        """Mean time from one stroke of a contact to its next."""
        return self.mean_down_ms + self.mean_up_ms


KEYS = Playing(shortest_down_ms=30, mean_down_ms=200, shortest_up_ms=20, mean_up_ms=800)
CONTROLS = Playing(shortest_down_ms=80, mean_down_ms=500, shortest_up_ms=200, mean_up_ms=1500)
"""Stops, pistons and stages, moved far more often than anybody would, so that many strokes are seen."""


def playing_of(kind: PointKind) -> Playing:
    """Return how contacts of a kind are played."""
    return KEYS if kind is PointKind.KEY else CONTROLS


@dataclass(frozen=True, slots=True)
class Strokes:
    """Strokes of many contacts, ordered by contact and time, with every edge of theirs, ordered alike.

    Per stroke: `contact`, `touched_ns` (first edge), `settled_ns` (last edge of the press).  Per edge: `edge_contact`
    and `edge_ns`.  `end_ns` is a time by which every contact rests.
    """

    contact: Times
    touched_ns: Times
    settled_ns: Times
    edge_contact: Times
    edge_ns: Times
    end_ns: int


def strokes(contacts: int, per_contact: int, playing: Playing, bounce: Bounce, random: np.random.Generator) -> Strokes:
    """Return so many strokes of each contact."""
    up_ns = _times(playing.shortest_up_ms, playing.mean_up_ms, (contacts, per_contact), random)
    down_ns = _times(playing.shortest_down_ms, playing.mean_down_ms, (contacts, per_contact), random)
    released = np.cumsum(up_ns + down_ns, axis=1)
    touched = (released - down_ns).ravel()
    contact = np.repeat(np.arange(contacts, dtype=np.int64), per_contact)
    closing, opening = (bounce.bursts(len(touched), way, random) for way in (True, False))
    let_go = released.ravel()
    times = (
        touched,
        touched[closing.stroke] + closing.after_ns,
        let_go,
        let_go[opening.stroke] + opening.after_ns,
    )
    owners = (contact, contact[closing.stroke], contact, contact[opening.stroke])
    edge_contact, edge_ns = _in_order(np.concatenate(owners), np.concatenate(times))
    end_ns = int(edge_ns.max(initial=0)) + 1
    return Strokes(contact, touched, _settled(touched, closing), edge_contact, edge_ns, end_ns)


def _times(shortest_ms: float, mean_ms: float, shape: tuple[int, int], random: np.random.Generator) -> Times:
    drawn = random.exponential(mean_ms - shortest_ms, shape) + shortest_ms
    return np.rint(drawn * 1000 * NS_PER_US).astype(np.int64)


def _settled(touched: Times, closing: Bursts) -> Times:
    settled = touched.copy()
    np.maximum.at(settled, closing.stroke, touched[closing.stroke] + closing.after_ns)
    return settled


def _in_order(contact: Times, time: Times) -> tuple[Times, Times]:
    """Order edges by contact and time, through one number that holds both."""
    span = int(time.max(initial=0)) + 1
    order = np.sort(contact * span + time)
    return order // span, order % span
