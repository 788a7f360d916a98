"""Choosing a sense circuit for every group: permitted before refused, sound before doubtful, light before heavy."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import inf

from retrofit.circuits.result import Result
from retrofit.circuits.sense.design import Judged, SenseDesign, Verdict
from retrofit.plan.sensing.candidates import Candidate
from retrofit.survey.wishes import Sense

FEEDS = "it could feed the line, and a line that the organ owns is only looked at"
_ORDER = (Verdict.GOOD, Verdict.NARROW, Verdict.UNKNOWN, Verdict.FAILS)


def permitted_on_the_organs(candidate: Candidate) -> Candidate:
    """Return the candidate, refused if it could feed a line that the organ owns."""
    design = candidate.design
    if design.looks_only or design.refusals:
        return candidate
    return replace(candidate, design=replace(design, refusals=(FEEDS,)))


def ranked(found: Sequence[Candidate]) -> tuple[Candidate, ...]:
    """Return the permitted candidates, best first.

    Those that fail a limit come last, and before them those that need a sensor added at every key.  Then the verdict
    counts, then the current that the line feels, then the number of parts.
    """
    return tuple(sorted((one for one in found if not one.design.refusals), key=_rank))


def _rank(candidate: Candidate) -> tuple[bool, bool, int, float, int]:
    design = candidate.design
    fails = design.verdict is Verdict.FAILS
    return fails, candidate.sense is Sense.SENSOR, _ORDER.index(design.verdict), load_ua(design), len(design.parts)


def load_ua(design: SenseDesign) -> float:
    """Return the greatest current that the line feels while our board is on; infinite where unknown."""
    felt = design.felt.on_ua, design.felt.idle_ua
    known = [abs(current) for current in felt if current is not None]
    return max(known) if len(known) == len(felt) else inf


def deciding(design: SenseDesign) -> Judged | None:
    """Return the figure that decides the verdict: of the worst that are known, the one with the least margin."""
    known = [(judged, judged.result) for judged in design.judged if judged.result is not None]
    return min(known, key=lambda pair: (-_ORDER.index(pair[0].verdict), _share(pair[1])))[0] if known else None


def _share(result: Result) -> float:
    return result.margin if result.margin_percent is None else result.margin_percent


def choose(permitted: Sequence[Candidate], wish: Sense) -> tuple[SenseDesign | None, str]:
    """Return the chosen design, and why the wish was not followed (empty when it was, or when nothing is wished).

    `permitted` is ranked.  Without a wish a circuit is chosen only if it is worked out to its parts and breaks no
    limit; sensors at every key are never chosen unasked.  A wished circuit is taken even while some of its figures are
    still unknown or fail: they are then said.
    """
    if wish is not Sense.UNKNOWN:
        for candidate in permitted:
            if candidate.sense is wish:
                return candidate.design, ""
    best = next((one.design for one in permitted if _may_be_proposed(one)), None)
    return best, "" if wish is Sense.UNKNOWN else f"{wish.value} is not among the circuits that this line permits"


def _may_be_proposed(candidate: Candidate) -> bool:
    design = candidate.design
    settled = design.keyed_reads_high is not None and bool(design.parts)
    return settled and candidate.sense is not Sense.SENSOR and design.verdict is not Verdict.FAILS


def reasons_against(wish: Sense, found: Sequence[Candidate]) -> str:
    """Return the reasons that were found against a wished circuit."""
    reasons: Mapping[str, None] = dict.fromkeys(
        reason for one in found if one.sense is wish for reason in one.design.refusals
    )
    return "; ".join(reasons)
