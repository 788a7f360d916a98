"""Which debounce a group gets: from its measured bounce, else from its kind of contact, else from what is safe.

Every default is common practice of the trade without a published source, except the margin arithmetic, which follows
from counting samples: a state that lasts w holds at least floor(w/T) and at most floor(w/T) + 1 samples of period T.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from retrofit.survey.points import PointKind
from retrofit.survey.wishes import DebounceFamily, DebounceWish
from retrofit.timing.debounce import Debounce
from retrofit.timing.words import ceil_ms, floor_ms, samples_for

COUNT_MAX = 63
"""Longest run of agreeing samples that the firmware counts."""
HOLD_MAX = 255
"""Longest hold-off, in samples, that the firmware counts."""
QUICK_REPEAT_US = 20_000
"""A key's up-time in quick repeats can be this short, so a longer release wait merges notes (common practice)."""
KEY_PRESS_US_MAX = 2_000
"""How long the press of a key may take to be believed (common practice)."""
STROKES_WANTED = 20
"""Strokes over which a bounce is worth calling the worst (common practice)."""
MARGIN_ON_MEASURED = 1.5
"""A measured worst bounce is taken half as long again (common practice)."""
STEADY_US = {PointKind.STOP: 15_000, PointKind.PISTON: 12_000, PointKind.STAGE: 10_000}
"""How long a control other than a key must agree with itself (common practice: 10 to 20 ms)."""


@dataclass(frozen=True, slots=True)
class ContactBounce:
    """What is known of the bounce of a group's contacts, in milliseconds; None is unknown.

    `measured_ms` is the worst of `strokes` strokes at the instrument; `kind_max_ms` the longest of the kind of
    contact according to `kind_source`.  `dirty` tells whether breaks inside a held note must be expected.  `kept_us` is
    how old a sample may be, so that a wrong level stays so much longer.
    """

    measured_ms: float | None = None
    strokes: int | None = None
    kind_max_ms: float | None = None
    kind_source: str = ""
    dirty: bool | None = None
    kept_us: float = 0.0

    @property
    def sane(self) -> bool:
        """False when the measured bounce is no span of time."""
        return self.measured_ms is None or (math.isfinite(self.measured_ms) and self.measured_ms >= 0)

    @property
    def span_us(self) -> float | None:
        """The bounce to be covered: measured plus half, else the kind's longest, as kept; None for unknown."""
        if self.measured_ms is not None and self.sane:
            return self.measured_ms * 1000 * MARGIN_ON_MEASURED + self.kept_us
        return None if self.kind_max_ms is None else self.kind_max_ms * 1000 + self.kept_us


@dataclass(frozen=True, slots=True)
class TimingProblem:
    """What is wrong with a debounce: a code in words, what was found, what is allowed, and the remedy."""

    code: str
    found: str
    allowed: str
    remedy: str


@dataclass(frozen=True, slots=True)
class ChosenDebounce:
    """A debounce that fits the firmware, why it was chosen, and what is wrong with it."""

    debounce: Debounce
    reasons: tuple[str, ...]
    problems: tuple[TimingProblem, ...] = ()


def choose_debounce(
    kind: PointKind, period_us: int, bounce: ContactBounce, wish: DebounceWish | None = None
) -> ChosenDebounce:
    """Return the debounce of contacts of one kind that are sampled every `period_us`.

    A wish wins over the default; what speaks against it is among the problems.  Raises `ValueError` for a shoe, which
    is read by a converter and has no contact to debounce.
    """
    if kind is PointKind.SHOE:
        raise ValueError("a shoe is read by a converter and has no debounce; its stages have one each")
    usual, usual_reason = _usual(kind, period_us, bounce)
    wanted = usual if wish is None else _wished(wish, usual, period_us)
    reason = usual_reason if wish is None else f"{wanted.family.value}, as wished"
    debounce = _fitted(wanted)
    problems = (
        *_bad_reading(bounce),
        *_unused_wish(wish),
        *_does_not_fit(wanted, period_us),
        *_bounce_uncovered(debounce, period_us, bounce.span_us),
        *_merges_repeats(kind, debounce, period_us),
    )
    return ChosenDebounce(debounce, (_bounce_reason(bounce) + _kept_reason(bounce), reason), problems)


def _usual(kind: PointKind, period_us: int, bounce: ContactBounce) -> tuple[Debounce, str]:
    if kind is not PointKind.KEY:
        return _steady(kind, period_us, bounce)
    if bounce.span_us is not None and bounce.dirty is False:
        hold = samples_for(bounce.span_us, period_us) + 1
        return (
            Debounce(DebounceFamily.FIRST_EDGE, hold=hold),
            "first-edge, because the contacts are clean and their bounce is known; one sample in hand",
        )
    return _dirty_key(period_us, bounce.span_us)


def _steady(kind: PointKind, period_us: int, bounce: ContactBounce) -> tuple[Debounce, str]:
    """A control that need not be fast; dirty contacts may never agree with themselves for long, but they can lead."""
    count = samples_for(STEADY_US[kind], period_us)
    if bounce.span_us is not None:
        count = max(count, samples_for(bounce.span_us, period_us) + 1)
    if bounce.dirty:
        reason = (
            f"integrator, because a {kind.value} need not be fast and its contacts are dirty: one that never agrees "
            f"with itself for {count} samples in a row is heard all the same"
        )
        return Debounce(DebounceFamily.INTEGRATOR, press=count, release=count), reason
    reason = f"consecutive, because a {kind.value} need not be fast: it must agree with itself for {count} samples"
    return Debounce(DebounceFamily.CONSECUTIVE, press=count, release=count), reason


def _dirty_key(period_us: int, span_us: float | None) -> tuple[Debounce, str]:
    press = 2 if 2 * period_us <= KEY_PRESS_US_MAX else 1
    longest = max(1, min(COUNT_MAX, QUICK_REPEAT_US // period_us))
    if span_us is None:
        release, why = longest, "the bounce is unknown: the release waits as long as quick repeats allow"
    else:
        release = min(longest, samples_for(span_us, period_us) + 1)
        why = "the contacts are dirty or not known to be clean: a short press, and a release that bridges breaks"
    return Debounce(DebounceFamily.ASYMMETRIC, press=press, release=release), f"asymmetric, because {why}"


def _wished(wish: DebounceWish, usual: Debounce, period_us: int) -> Debounce:
    """Turn wished milliseconds into samples; what the wish leaves open comes from the default of the same family."""

    def samples(wished_ms: float | None, otherwise: int) -> int:
        return otherwise if wished_ms is None else max(1, samples_for(wished_ms * 1000, period_us))

    if wish.family is DebounceFamily.FIRST_EDGE:
        return Debounce(wish.family, hold=samples(wish.hold_ms, max(usual.hold, usual.release)))
    press = samples(wish.press_ms, usual.press)
    if wish.family in (DebounceFamily.CONSECUTIVE, DebounceFamily.INTEGRATOR):
        press = samples(wish.press_ms, max(usual.hold, usual.press, usual.release))
        return Debounce(wish.family, press=press, release=samples(wish.release_ms, press))
    return Debounce(wish.family, press=press, release=samples(wish.release_ms, max(usual.hold, usual.release)))


def _fitted(wanted: Debounce) -> Debounce:
    return Debounce(
        wanted.family,
        press=min(wanted.press, COUNT_MAX),
        release=min(wanted.release, COUNT_MAX),
        hold=min(wanted.hold, HOLD_MAX),
    )


def _bounce_reason(bounce: ContactBounce) -> str:
    if bounce.span_us is None:
        return f"the bounce is unknown; the worst of {STROKES_WANTED} strokes would settle it"
    if bounce.measured_ms is None or not bounce.sane:
        return f"the bounce is taken as {ceil_ms(bounce.span_us)}, the longest of this kind ({bounce.kind_source})"
    strokes = "an unknown number of" if bounce.strokes is None else f"{bounce.strokes}"
    few = "" if (bounce.strokes or 0) >= STROKES_WANTED else f"; {STROKES_WANTED} strokes are wanted"
    return (
        f"the bounce was at worst {bounce.measured_ms:g} ms over {strokes} strokes{few}; "
        f"half as much again is covered, {ceil_ms(bounce.span_us)}"
    )


def _kept_reason(bounce: ContactBounce) -> str:
    return f"; of that {ceil_ms(bounce.kept_us)} because a sample may be so old" if bounce.kept_us else ""


def _bad_reading(bounce: ContactBounce) -> tuple[TimingProblem, ...]:
    if bounce.sane:
        return ()
    return (
        TimingProblem(
            "bounce-no-time",
            f"a measured bounce of {bounce.measured_ms:g} ms was found",
            "a bounce is a time of zero or more",
            "measure it again, or write unknown",
        ),
    )


def _unused_wish(wish: DebounceWish | None) -> tuple[TimingProblem, ...]:
    if wish is None:
        return ()
    first_edge = wish.family is DebounceFamily.FIRST_EDGE
    given = {"hold_ms": wish.hold_ms, "press_ms": wish.press_ms, "release_ms": wish.release_ms}
    useless = [name for name, value in given.items() if value is not None and (name == "hold_ms") != first_edge]
    useful = "hold_ms" if first_edge else "press_ms and release_ms"
    return tuple(
        TimingProblem(
            "debounce-wish-unused",
            f"{name} was found with the {wish.family.value} family",
            f"{wish.family.value} goes by {useful}",
            f"remove {name}, or choose the family that it belongs to",
        )
        for name in useless
    )


def _does_not_fit(wanted: Debounce, period_us: int) -> tuple[TimingProblem, ...]:
    counts = [("press", wanted.press, COUNT_MAX), ("release", wanted.release, COUNT_MAX)]
    if wanted.family is DebounceFamily.FIRST_EDGE:
        counts = [("hold-off", wanted.hold, HOLD_MAX)]
    return tuple(
        TimingProblem(
            "debounce-count-too-large",
            f"a {name} of {ceil_ms(count * period_us)} is {count} samples of {ceil_ms(period_us)}",
            f"the firmware counts to {most}, that is {floor_ms(most * period_us)}",
            "wish for a shorter time, or have the group sampled less often",
        )
        for name, count, most in counts
        if count > most
    )


def covered_us(debounce: Debounce, period_us: float) -> float:
    """Return the longest burst of bounce that gives exactly one message: no double strike up to this span.

    First edge: the sample after the hold-off comes `hold` periods after the event.  The others: a double strike needs
    as many closed and then as many open samples as are counted within the burst, and n samples span n - 1 periods.
    """
    if debounce.family is DebounceFamily.FIRST_EDGE:
        return debounce.hold * period_us
    return (debounce.press + debounce.release - 1) * period_us


def _bounce_uncovered(debounce: Debounce, period_us: int, span_us: float | None) -> tuple[TimingProblem, ...]:
    covered = covered_us(debounce, period_us)
    if span_us is None or covered >= span_us:
        return ()
    return (
        TimingProblem(
            "bounce-longer-than-debounce",
            f"the bounce to be covered is {ceil_ms(span_us)}, the {debounce.family.value} debounce covers "
            f"{floor_ms(covered)}",
            "the debounce covers the whole bounce, or one stroke may sound twice",
            "clean or adjust the contacts, or wish for a longer debounce",
        ),
    )


def _merges_repeats(kind: PointKind, debounce: Debounce, period_us: int) -> tuple[TimingProblem, ...]:
    first_edge = debounce.family is DebounceFamily.FIRST_EDGE
    wait_us = (debounce.hold if first_edge else debounce.release) * period_us
    if kind is not PointKind.KEY or wait_us <= QUICK_REPEAT_US:
        return ()
    return (
        TimingProblem(
            "quick-repeats-merged",
            f"a key must be up for {ceil_ms(wait_us)} before its next stroke is certain to be heard",
            f"quick repeats leave a key up for {floor_ms(QUICK_REPEAT_US)}",
            "clean or adjust the contacts and wish for a shorter debounce",
        ),
    )
