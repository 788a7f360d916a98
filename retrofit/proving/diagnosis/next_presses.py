"""Which keys to ask for next: those not heard, those heard wrongly, and those on which the best suppositions differ."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence

from retrofit.proving.diagnosis.align import Heard
from retrofit.proving.diagnosis.causes import supposed
from retrofit.proving.diagnosis.hearing import Hearing
from retrofit.proving.diagnosis.rig import Rig
from retrofit.proving.diagnosis.score import Material
from retrofit.proving.diagnosis.search import Supposition

TWICE = 2
"""A press that was answered so often in the same way is believed; once more where nothing explains the answer."""
MOST_ASKED = 5
AT_A_TIME = 8
FEW = 2
"""A cause that no more presses show than these is to be confirmed by each of them."""
RIVALS = 6
CLOSE = 9.0
"""Suppositions whose cost differs by less than this are rivals still."""


def next_presses(rig: Rig, materials: Sequence[Material], ranked: Sequence[Supposition]) -> tuple[str, ...]:
    """Return points whose presses should be asked for by name, at most `AT_A_TIME`."""
    if not ranked:
        return ()
    answers: dict[str, list[Heard]] = {}
    for point, heard in (asked for material in materials for asked in material.asked):
        answers.setdefault(point, []).append(heard)
    excused = {point for material in materials for point in material.excused}
    own = [point for material in materials for point in material.points]
    wanted = dict.fromkeys(
        (*_between(own, ranked), *_confirming(own, ranked[0], answers), *_unsure(rig, ranked[0], answers))
    )
    unexplained = {p for fit in ranked[0].fits for p in (*fit.silent, *(point for point, _ in fit.wrong))}
    open_ones = [
        p
        for p in wanted
        if p in own and p not in excused and not _is_settled(answers.get(p, []), TWICE + (p in unexplained))
    ]
    return tuple(open_ones[:AT_A_TIME])


def _is_settled(answers: Sequence[Heard], agreeing: int) -> bool:
    """Return whether so many answers agree, or so many were given that more would not help."""
    return len(answers) >= MOST_ASKED or any(n >= agreeing for n in Counter(answers).values())


def rivals(ranked: Sequence[Supposition]) -> list[Supposition]:
    """Return the suppositions that are not yet beaten, the best first."""
    return [one for one in ranked if one.cost - ranked[0].cost <= CLOSE][:RIVALS]


def _between(own: Iterable[str], ranked: Sequence[Supposition]) -> Iterator[str]:
    """Yield, for every rival of the best, two presses that would tell them apart."""
    own = list(own)
    best, *others = rivals(ranked)
    for other in others:
        found = differing(best, other, own)
        yield from (*found[:1], *found[-1:])


def differing(one: Supposition, other: Supposition, points: Iterable[str]) -> list[str]:
    """Return the points whose single presses two suppositions let hear differently."""
    return [point for point in points if one.hearing.press(point) != other.hearing.press(point)]


def _confirming(own: Sequence[str], best: Supposition, answers: Mapping[str, Sequence[Heard]]) -> Iterator[str]:
    """Yield presses by name on which each cause rests, lest a slip of a finger, or the order of a run, accuse it.

    All, of a cause that but few presses show; of another one press, where none was asked for yet: a run tells in which
    order contacts were heard, not which keys were pressed.
    """
    for i in range(len(best.causes)):
        without = Hearing(supposed(best.net.rig, (*best.causes[:i], *best.causes[i + 1 :])))
        shown = [point for point in own if without.press(point) != best.hearing.press(point)]
        if len(shown) <= FEW:
            yield from shown
        elif answers.keys().isdisjoint(shown):
            yield shown[len(shown) // 2]


def _unsure(rig: Rig, best: Supposition, answers: Mapping[str, Sequence[Heard]]) -> Iterator[str]:
    for fit in best.fits:
        yield from fit.silent
        yield from (p for p in fit.missing if best.hearing.press(p) not in answers.get(p, ()))
        for point, heard in fit.wrong:
            yield point
            yield from _known(rig, heard)
        for heard in fit.strays:
            yield from _known(rig, heard)
        yield from _known(rig, fit.idle_more | fit.idle_less)


def _known(rig: Rig, heard: Heard) -> list[str]:
    return sorted(point for point in heard if point in rig.contacts)


def chords_again(materials: Sequence[Material], ranked: Sequence[Supposition]) -> tuple[frozenset[str], ...]:
    """Return chords to be held once more: those that disagree with the best supposition, or on which rivals differ."""
    held = Counter(chord for material in materials for chord, _ in material.chords)
    best, *others = rivals(ranked)
    wanted = [chord for fit in best.fits for chord, _, _ in fit.chords]
    wanted += [chord for chord in held for other in others if best.hearing.on(chord) != other.hearing.on(chord)]
    return tuple(dict.fromkeys(chord for chord in wanted if held[chord] < TWICE))[:AT_A_TIME]
