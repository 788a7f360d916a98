"""Which key has which place: from the order of a run and from single presses that were asked for by name.

Nothing is guessed.  A run over sixty keys that let hear fifty-nine places has left one out, and does not say which: a
single press in the middle tells in which half it was, so that about six presses settle it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from retrofit.proving.learning.fit import Fit, without
from retrofit.proving.learning.order import Blocks
from retrofit.proving.learning.votes import LEAD_SURE, LEADS, SILENT, AskedPress, Verdict, verdicts


@dataclass(frozen=True, slots=True)
class Learned:
    """What is known so far.

    `places` leads from keys to their places, for certain; `silent` keys let hear nothing.  `together` are keys that
    never speak alone, with all that was heard of them.  `ask` are keys whose single presses would settle what is open,
    the most telling first; `again` says that the run cannot be right and has to be played anew.
    """

    places: Mapping[str, str]
    silent: tuple[str, ...]
    together: Mapping[str, frozenset[str]]
    ask: tuple[str, ...]
    again: bool = False

    @property
    def settled(self) -> bool:
        """Whether nothing is left to ask."""
        return not (self.ask or self.again)


def learned(keys: Sequence[str], order: Blocks, asked: Sequence[AskedPress], dead: frozenset[str]) -> Learned:
    """Return what an order and single presses say of the keys, which stand in the order of the run.

    `dead` are keys known as dead; each is asked for once, since one that speaks after all would shift all others.
    """
    said = verdicts(keys, asked, dead)
    together = dict(_together(said))
    pins = {key: one.place for key, one in said.items() if one.place and key not in together}
    silent = [key for key, one in said.items() if one.place == SILENT and key not in together]
    certain = without(order, {place for heard in together.values() for place in heard} - set(pins.values()))
    in_run = _may_be_in_run(keys, certain, pins, {*silent, *together})
    fit = Fit(in_run, certain, {key: place for key, place in pins.items() if key in in_run})
    disputed = [*_sharing(pins), *_contradicting(fit, silent)]
    unsure = [key for key in disputed if said[key].lead < LEAD_SURE and key not in together]
    open_keys = [key for key, one in said.items() if one.place is None and (one.presses or key in dead)]
    ask = dict.fromkeys((*(key for key in open_keys if key not in together), *unsure))
    if not fit.broken:
        ask |= dict.fromkeys((*fit.questions(), *_beside(keys, silent, in_run, fit), *_hasty(keys, silent, said)))
    places = {**dict(fit.settled()), **pins}
    return Learned(
        places={key: places[key] for key in keys if key in places},
        silent=tuple(silent),
        together=together,
        ask=tuple(ask),
        again=fit.broken and not ask,
    )


def _may_be_in_run(keys: Sequence[str], order: Blocks, pins: Mapping[str, str], out: set[str]) -> list[str]:
    """Return the keys that the run let hear, or may have let hear."""
    heard = {place for block in order for place in block}
    return [key for key in keys if key not in out and pins.get(key, "") in {"", *heard}]


def _together(said: Mapping[str, Verdict]) -> Iterator[tuple[str, frozenset[str]]]:
    """Yield the keys that never speak alone, and those that are heard where others are, for all that is asked."""
    counts = Counter(one.place for one in said.values() if one.place)
    unsure = {one.place for one in said.values() if one.lead < LEAD_SURE}
    for key, one in said.items():
        shared = one.place and counts[one.place] > 1 and one.place not in unsure
        if (one.place is None and one.is_hopeless) or shared:
            yield key, one.heard


def _sharing(pins: Mapping[str, str]) -> list[str]:
    """Return keys that were heard at the same place."""
    counts = Counter(pins.values())
    return [key for key, place in pins.items() if counts[place] > 1]


def _contradicting(fit: Fit, silent: Iterable[str]) -> list[str]:
    """Return the keys whose presses may be wrong because the order says otherwise."""
    return [*fit.contradicting, *silent] if fit.broken else []


def _beside(keys: Sequence[str], silent: Iterable[str], in_run: Sequence[str], fit: Fit) -> Iterator[str]:
    """Yield the nearest keys on both sides of a silent one whose places follow from the order alone.

    A key that was only touched too lightly would shift those beside it: their presses show it.
    """
    number = {key: index for index, key in enumerate(keys)}
    steady = [key for key in in_run if key not in fit.loose]
    for key in silent:
        beside = [
            *[other for other in steady if number[other] < number[key]][-1:],
            *[other for other in steady if number[other] > number[key]][:1],
        ]
        yield from (other for other in beside if other not in fit.pins)


def _hasty(keys: Sequence[str], silent: Iterable[str], said: Mapping[str, Verdict]) -> Iterator[str]:
    """Yield the keys next to a silent one that were pressed once only: a finger may have slipped to the other."""
    number = {key: index for index, key in enumerate(keys)}
    for key in silent:
        for other in keys[max(0, number[key] - 1) : number[key] + 2]:
            if said[other].place and said[other].lead < LEADS[True]:
                yield other
