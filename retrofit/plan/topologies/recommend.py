"""Which way of reading is recommended for each group, and what decided."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence

from retrofit.circuits.sense.design import Verdict
from retrofit.plan.topologies.counts import PROVEN
from retrofit.plan.topologies.demand import Demand
from retrofit.plan.topologies.kinds import MATRICES, Kind
from retrofit.plan.topologies.model import Candidate

Mix = dict[str, Candidate]
_VERDICTS = (Verdict.GOOD, Verdict.NARROW, Verdict.UNKNOWN, Verdict.FAILS)
_KINDS = tuple(Kind)


def ranked(found: Sequence[Candidate], demand: Demand) -> list[Candidate]:
    """Return the candidates that may be recommended, best first.

    A diode board that is there is kept; then the verdict counts, then joints, devices and pins.
    """
    return sorted((candidate for candidate in found if candidate.open), key=lambda c: _rank(c, demand))


def _rank(candidate: Candidate, demand: Demand) -> tuple[bool, int, int, int, int, int]:
    counts = candidate.counts
    return (
        not reuses(candidate, demand),
        _VERDICTS.index(candidate.verdict),
        counts.joints,
        counts.devices,
        counts.pins,
        _KINDS.index(candidate.kind),
    )


def reuses(candidate: Candidate, demand: Demand) -> bool:
    """Return whether a way of reading uses a diode board that was found."""
    return candidate.kind in MATRICES and demand.group.wiring.diodes in PROVEN


def best_mix(ranking: Mapping[str, Sequence[Candidate]], fits: Callable[[Mix], bool]) -> Mix:
    """Return the best way of reading for each group that has one, such that one board holds them all if it can be.

    While they do not fit, the group gives way whose next choice with fewer pins costs the fewest joints for each pin.
    """
    mix = {group: found[0] for group, found in ranking.items() if found}
    while not fits(mix):
        steps = [step for group in mix for step in _giving_way(mix[group], ranking[group])]
        if not steps:
            break
        _, chosen = min(steps, key=lambda step: step[0])
        mix[chosen.group] = chosen
    return mix


def _giving_way(now: Candidate, found: Sequence[Candidate]) -> Iterator[tuple[tuple[float, str], Candidate]]:
    """Yield the best choice with fewer pins than now, with what it costs in joints for each pin."""
    for candidate in found:
        pins = now.counts.pins - candidate.counts.pins
        if pins > 0:
            yield ((candidate.counts.joints - now.counts.joints) / pins, now.group), candidate
            return


def reason(chosen: Candidate, ranking: Sequence[Candidate], demand: Demand) -> str:
    """Return what decided for the chosen way of reading, held against the next best."""
    if chosen is not ranking[0]:
        first = ranking[0].kind.value
        return f"{first} would come first alone, but with the other groups it asks for more pins than the board has"
    if len(ranking) == 1:
        return "every other way is refused, or has no front end in the firmware"
    other = ranking[1]
    if reuses(chosen, demand) != reuses(other, demand):
        return "it uses the diode board that is there, whose contacts are joined in rows already"
    if chosen.verdict is not other.verdict:
        return f"its figures are {chosen.verdict.value}, those of {other.kind.value} {other.verdict.value}"
    return f"{_difference(chosen, other)} than {other.kind.value}, the next best"


def _difference(chosen: Candidate, other: Candidate) -> str:
    pairs = (
        ("joints to solder", chosen.counts.joints, other.counts.joints),
        ("chips", chosen.counts.devices, other.counts.devices),
        ("pins", chosen.counts.pins, other.counts.pins),
    )
    return next(
        (f"fewer {words} ({own} against {theirs})" for words, own, theirs in pairs if own != theirs), "no worse"
    )


def consequences(wished: Candidate, recommended: Candidate | None) -> tuple[str, ...]:
    """Return what the wished way means, beside the recommended one where there is one."""
    words = [f"refused: {refusal.sentence}" for refusal in wished.refusals]
    if recommended is None or recommended.kind is wished.kind:
        return tuple(words)
    pairs = (
        ("joints", wished.counts.joints, recommended.counts.joints),
        ("chips", wished.counts.devices, recommended.counts.devices),
        ("pins", wished.counts.pins, recommended.counts.pins),
        ("µs a scan", round(wished.time.scan_us), round(recommended.time.scan_us)),
    )
    words += [f"{own} {name} instead of {theirs}" for name, own, theirs in pairs if own != theirs]
    if wished.verdict is not recommended.verdict and not wished.refusals:
        words.append(f"its figures are {wished.verdict.value} instead of {recommended.verdict.value}")
    return tuple(words)
