"""What is recognised at single contacts, and at groups that behave as one."""

from __future__ import annotations

from collections.abc import Iterator
from statistics import median

from retrofit.proving.chance import LEVEL, all_among_the_longest, at_least, trials_needed
from retrofit.proving.engine import Engine
from retrofit.proving.expected import ExpectedPoint
from retrofit.proving.hum import HumFit, hum_in
from retrofit.proving.signature import Contact, Signature, SignatureKind, contacts_of, level_of
from retrofit.proving.tally import CHATTER_US, ContactTally
from retrofit.proving.windows import Windows
from retrofit.survey.points import PointKind

STUTTER_CHANCE = 0.05
"""Share of strokes in which a slow or clumsy finger makes a good contact stutter (common practice, no source)."""
SLOW_US = 50_000
"""A key that goes off so much later than its like is slow (common practice, no source)."""
FLICKERS_NEEDED = 3
"""So often a group must speak at once: an arm laid on the keys does it too (common practice, no source)."""
HELD_US = 120_000_000
"""Nobody holds a key so long (common practice, no source)."""


def contact_signatures(engine: Engine, now_us: int) -> Iterator[Signature]:
    """Yield chatter, stuck contacts, hum, slow releases and flicker."""
    level, contacts = level_of(engine), contacts_of(engine)
    for point, tally in contacts:
        yield from _chatter(point, tally, level)
        yield from _stuck(point, tally, now_us)
    for group in dict.fromkeys(point.group for point, _ in contacts):
        members = [(point, tally) for point, tally in contacts if point.group == group]
        yield from _hum(group, members, engine.expected.windows.get(group) or Windows(), level)
        if group in engine.groups:
            yield from _slow_releases(members, level)
            yield from _flicker(engine, group)


def _chatter(point: ExpectedPoint, tally: ContactTally, level: float) -> Iterator[Signature]:
    enough = at_least(tally.chattered, tally.strokes, STUTTER_CHANCE) < level
    if not enough and 2 * tally.chattered <= tally.strokes:
        return
    yield Signature(
        SignatureKind.CHATTER,
        point.id,
        f"{tally.chattered} of {tally.strokes} strokes chattered, up to {tally.retriggers_most} further ons in one, "
        f"the longest {tally.longest_bounce_us / 1000:.1f} ms after its off",
        f"two further ons, spread over more than {CHATTER_US / 1000:g} ms, in {STUTTER_CHANCE:.0%} of the strokes; "
        f"{trials_needed(STUTTER_CHANCE, level)} such strokes in a row are needed to tell",
        "a dirty contact or a weak spring",
        enough,
    )


def _stuck(point: ExpectedPoint, tally: ContactTally, now_us: int) -> Iterator[Signature]:
    held_us = now_us - tally.on_us
    if tally.is_on and held_us >= HELD_US and point.kind in (PointKind.KEY, PointKind.PISTON):
        yield Signature(
            SignatureKind.STUCK,
            point.id,
            f"has been on for {held_us / 1e6:.0f} s",
            f"{HELD_US / 1e6:g} s",
            "something lies on it, or the contact is welded or bent",
        )


def _hum(group: str, members: list[Contact], windows: Windows, level: float) -> Iterator[Signature]:
    """Yield hum of the group when several of its contacts show it together, else of each contact."""
    speaking = [tally for _, tally in members if tally.periods]
    fit = hum_in((period for tally in speaking for period in tally.periods), windows, level)
    if fit is not None and len(speaking) > 1:
        yield _hum_signature(group, fit, level)
        return
    for point, tally in members:
        fit = hum_in(tally.periods, windows, level)
        if fit is not None:
            yield _hum_signature(point.id, fit, level)


def _hum_signature(subject: str, fit: HumFit, level: float) -> Signature:
    return Signature(
        SignatureKind.HUM,
        subject,
        f"{fit.locked} of {fit.periods} times from on to on are whole periods of {fit.hz} Hz",
        f"{fit.chance:.0%} by chance, which gives so many less often than once in {1 / level:,.0f}",
        "a supply without a capacitor, or a missing return",
    )


def _slow_releases(members: list[Contact], level: float) -> Iterator[Signature]:
    """Yield keys that stay on longer than the others of their group, by strokes that were played alone."""
    everything = [length for _, tally in members for length in tally.on_times]
    for point, tally in members:
        own, others = len(tally.on_times), len(everything) - len(tally.on_times)
        if own < 2 or not others:
            continue
        least_us, usual_us = min(tally.on_times), _median_without(everything, tally)
        as_long = sum(length >= least_us for length in everything) - own
        if least_us - usual_us < SLOW_US or all_among_the_longest(own, others, as_long) >= LEVEL:
            continue
        enough = all_among_the_longest(own, others, as_long) < level
        yield Signature(
            SignatureKind.SLOW_RELEASE,
            point.id,
            f"on for {least_us / 1000:.0f} ms at the least in {own} strokes, {usual_us / 1000:.0f} ms is usual here",
            f"{SLOW_US / 1000:g} ms longer; {_strokes_needed(others, level)} such strokes are needed to tell",
            "tapped behind a capacitor that keeps the note, or a contact that is slow to open",
            enough,
        )


def _median_without(everything: list[int], tally: ContactTally) -> float:
    rest = sorted(everything)
    for length in tally.on_times:
        rest.remove(length)
    return median(rest)


def _strokes_needed(others: int, level: float) -> int:
    own = 1
    while all_among_the_longest(own, others, 0) >= level:
        own += 1
    return own


def _flicker(engine: Engine, group: str) -> Iterator[Signature]:
    tally = engine.groups[group]
    if tally.flickers:
        yield Signature(
            SignatureKind.FLICKER,
            group,
            f"{tally.flickers} times many keys spoke at once, up to {tally.largest_burst}",
            f"{tally.flicker_least - 1} keys within {tally.burst_us / 1000:.1f} ms of each other; "
            f"{FLICKERS_NEEDED} times are needed to tell",
            "a joint in the return or the supply of the whole group",
            tally.flickers >= FLICKERS_NEEDED,
        )
