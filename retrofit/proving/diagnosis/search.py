"""The fewest causes that explain the most: supposed one upon another, the best few kept at each step."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from retrofit.proving.diagnosis.causes import COSTS, PERMUTATIONS, Cause, Kind, supposed
from retrofit.proving.diagnosis.hearing import Hearing
from retrofit.proving.diagnosis.net import Net
from retrofit.proving.diagnosis.rig import Rig
from retrofit.proving.diagnosis.score import Fit, Material, compare
from retrofit.proving.diagnosis.suggest import suggestions

KEPT = 4
"""Suppositions from which further ones are made at each step."""
MOST_CAUSES = 4
SLACK = 14.0
"""How much worse than the best a supposition may be and still be worth remembering."""
WORSE = 6.0
"""How much worse than without its newest cause a supposition may be where two more would still pay: each of two that
hide each other explains too little alone."""
MOST_TRIED = 700
"""Suppositions that are tried in all, the most promising first: what is not found among them is not settled."""
FAR = 40.0
"""How much worse than the best a supposition may be and still lead to a better one; as much again as the best, if that
is more: two causes that hide each other may each explain little alone."""
WHOLE = {Kind.DIODES_MISSING, Kind.DIODES_REVERSED}
MOVES = PERMUTATIONS | {Kind.CHAIN_DEAD, Kind.REGISTER_DEAD, Kind.LINE_DEAD}
SOUND = min(COSTS.values())
"""Left unexplained at no more than the cheapest cause costs, nothing further is supposed: none would be worth it."""


@dataclass(frozen=True)
class Supposition:
    """Causes supposed together, what the console would then let hear, and how that agrees with each group."""

    causes: tuple[Cause, ...]
    net: Net
    hearing: Hearing
    fits: tuple[Fit, ...]

    @property
    def left(self) -> float:
        """The cost of what is left unexplained."""
        return sum(fit.cost for fit in self.fits)

    @property
    def price(self) -> float:
        """The cost of the causes alone."""
        return sum(cause.cost for cause in self.causes)

    @property
    def cost(self) -> float:
        """The whole cost: of the causes, and of what they leave."""
        return self.price + self.left


def suppose(
    rig: Rig, causes: tuple[Cause, ...], materials: Sequence[Material], most: float = 1e9
) -> Supposition | None:
    """Return a supposition judged, or None when it costs more than `most`."""
    net = supposed(rig, causes)
    hearing = Hearing(net)
    left = most - sum(cause.cost for cause in causes)
    fits: list[Fit] = []
    for material in materials:
        fit = compare(hearing, material, left)
        if fit is None or fit.cost > left:
            return None
        left -= fit.cost
        fits.append(fit)
    return Supposition(causes, net, hearing, tuple(fits))


def search(rig: Rig, materials: Sequence[Material]) -> list[Supposition]:
    """Return suppositions from the best to those that are `SLACK` worse; the first may be of no cause at all."""
    sound = suppose(rig, (), materials)
    if sound is None:
        return []
    found = _Search(rig, materials, {(): sound}).all_found(sound)
    best = min(found.values(), key=lambda one: one.cost)
    found |= {one.causes: one for one in _thrifty(rig, materials, best)}
    ranked = sorted(found.values(), key=lambda one: (one.cost, len(one.causes)))
    return [one for one in ranked if one.cost <= ranked[0].cost + SLACK]


def _thrifty(rig: Rig, materials: Sequence[Material], one: Supposition) -> Iterator[Supposition]:
    """Yield the same supposition without a cause that others which came later have made needless."""
    for i in range(len(one.causes)):
        less = suppose(rig, one.causes[:i] + one.causes[i + 1 :], materials, one.cost)
        if less is not None and less.cost < one.cost:
            yield less
            yield from _thrifty(rig, materials, less)


@dataclass
class _Search:
    """What was found so far, and how many suppositions were tried for it."""

    rig: Rig
    materials: Sequence[Material]
    found: dict[tuple[Cause, ...], Supposition]
    tried: int = 0

    def all_found(self, sound: Supposition) -> dict[tuple[Cause, ...], Supposition]:
        """Suppose one cause upon another, from the best few each time, until enough is explained or tried."""
        front = [sound]
        for _ in range(MOST_CAUSES):
            grown = [further for one in front for further in self._grow(one)]
            grown.sort(key=lambda one: (one.cost, len(one.causes)))
            if not grown or grown[0].left <= SOUND:
                break
            front = [one for one in grown[:KEPT] if one.cost <= _lead(grown[0].cost)]
        return self.found

    def _grow(self, one: Supposition) -> list[Supposition]:
        """Suppose one cause more, each that something left unexplained votes for."""
        grown: list[Supposition] = []
        best = min(other.cost for other in self.found.values())
        if one.left <= SOUND or one.price + SOUND >= best:
            return grown
        worse = WORSE if one.left > 2 * SOUND else 0.0
        for causes in self._further(one):
            further = suppose(self.rig, causes, self.materials, min(one.cost + worse, _lead(best)))
            if further is not None:
                self.found[causes] = further
                grown.append(further)
                best = min(best, further.cost)
        return grown

    def _further(self, one: Supposition) -> Iterator[tuple[Cause, ...]]:
        for more in suggestions(self.rig, one.net, one.hearing, one.fits):
            for causes in _orders(_all_but_last(one.causes, more), more[-1]):
                if causes not in self.found and self.tried < MOST_TRIED:
                    self.tried += 1
                    yield causes


def _lead(best: float) -> float:
    """Return what a supposition may cost that may still lead to one better than the best."""
    return best + max(FAR, best)


def _all_but_last(causes: tuple[Cause, ...], more: tuple[Cause, ...]) -> tuple[Cause, ...]:
    return (*causes, *(cause for cause in more[:-1] if cause not in causes))


def _orders(causes: tuple[Cause, ...], further: Cause) -> list[tuple[Cause, ...]]:
    """Return the orders in which one cause more is worth supposing: moves upon moves come out differently."""
    if further in causes:
        return []
    if further.kind not in MOVES:
        return [tuple(sorted((*causes, further), key=_turn))]
    begin = sum(cause.kind is Kind.INPUT_STUCK for cause in causes)
    end = begin + sum(cause.kind in MOVES for cause in causes)
    return [(*causes[:i], further, *causes[i:]) for i in range(begin, end + 1)]


def _turn(cause: Cause) -> tuple[int, str]:
    """Return when a cause is to be done: an input lies before all that moves, a whole group before what is single."""
    if cause.kind in MOVES:
        return 1, ""
    return 0 if cause.kind is Kind.INPUT_STUCK else 2 if cause.kind in WHOLE else 3, str(cause)
