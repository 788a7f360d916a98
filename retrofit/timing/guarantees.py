"""What a debounce promises, in sentences with numbers that hold at worst case.

The figures follow from counting samples that are due every T and taken up to J late: n samples in a row span at least
(n - 1) T - J and at most (n - 1) T + J, and a state that lasts n T + J holds at least n samples.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from retrofit.survey.points import PointKind
from retrofit.survey.wishes import DebounceFamily
from retrofit.timing.debounce import Debounce
from retrofit.timing.integrator import mean_samples, samples_with_breaks
from retrofit.timing.words import ceil_ms, floor_ms

_CLOSED_SHARES = ((0.9, "nine tenths"), (0.75, "three quarters"))
_SUBJECTS = {PointKind.KEY: "key", PointKind.PISTON: "piston", PointKind.STOP: "stop", PointKind.STAGE: "stage"}


@dataclass(frozen=True, slots=True)
class Sampling:
    """When samples are due and how much later they may be taken, in microseconds."""

    period_us: float
    jitter_us: float = 0.0

    def never_us(self, samples: int) -> float:
        """Return the time below which no state holds this many samples in a row."""
        return max(0.0, (samples - 1) * self.period_us - self.jitter_us)

    def always_us(self, samples: int) -> float:
        """Return the time from which on every state holds this many samples in a row."""
        return samples * self.period_us + self.jitter_us

    def apart_us(self, samples: int) -> float:
        """Return the least time between a sample and the one this many later."""
        return max(0.0, samples * self.period_us - self.jitter_us)


def guarantee_sentences(
    kind: PointKind, debounce: Debounce, period_us: float, jitter_us: float = 0.0
) -> tuple[str, ...]:
    """Return what the debounce of one group promises, one sentence each, true at worst case.

    Raises `ValueError` for a shoe, which has no contact to debounce.
    """
    if kind not in _SUBJECTS:
        raise ValueError("a shoe is read by a converter and has no debounce to promise anything")
    sampling = Sampling(period_us, jitter_us)
    if debounce.family is DebounceFamily.FIRST_EDGE:
        return _first_edge(_SUBJECTS[kind], debounce.hold, sampling)
    if debounce.family is DebounceFamily.INTEGRATOR:
        return _integrator(_SUBJECTS[kind], debounce, sampling)
    return _counted(_SUBJECTS[kind], debounce, sampling)


def _first_edge(subject: str, hold: int, sampling: Sampling) -> tuple[str, ...]:
    apart_us, always_us = sampling.apart_us(hold), sampling.always_us(hold)
    return (
        f"A change is believed at the first sample that shows it, within {ceil_ms(sampling.always_us(1))}.",
        f"Two messages of one {subject} are never closer than {floor_ms(apart_us)}, so bounce up to that long is "
        "never heard.",
        f"A spike of any length that meets a sample sends on, and off not before {floor_ms(apart_us)}; "
        f"so does a quick tap, whose end may be reported up to {ceil_ms(always_us)} late.",
        _strokes(subject, always_us, always_us, sampling.apart_us(2 * hold)),
    )


def _counted(subject: str, debounce: Debounce, sampling: Sampling) -> tuple[str, ...]:
    shortest_us = sampling.apart_us(debounce.press + debounce.release)
    return (
        _closures(debounce, sampling),
        _breaks(debounce, sampling),
        _strokes(subject, sampling.always_us(debounce.press), sampling.always_us(debounce.release), shortest_us),
    )


def _integrator(subject: str, debounce: Debounce, sampling: Sampling) -> tuple[str, ...]:
    closures, breaks, strokes = _counted(subject, debounce, sampling)
    return (
        closures.replace("A closure shorter", "A closure from rest shorter"),
        breaks.replace("A break shorter", "A break of a steady contact shorter"),
        _with_breaks(debounce, sampling),
        _by_chance(debounce, sampling),
        strokes,
    )


def _with_breaks(debounce: Debounce, sampling: Sampling) -> str:
    within = ceil_ms(sampling.always_us(samples_with_breaks(debounce.press)))
    heard = f"A contact that is open in no more than one of any four samples in a row is heard within {within}"
    return f"{heard}, and its note holds." if debounce.release > 1 else f"{heard}."


def _by_chance(debounce: Debounce, sampling: Sampling) -> str:
    means = (
        f"{words} of the time after about {mean_samples(debounce.press, share) * sampling.period_us / 1000:.3g} ms"
        for share, words in _CLOSED_SHARES
    )
    return f"Closed by chance it is heard, {', '.join(means)}; half of the time, perhaps never."


def _closures(debounce: Debounce, sampling: Sampling) -> str:
    never_us = sampling.never_us(debounce.press)
    if never_us == 0:
        on_us = sampling.apart_us(debounce.release)
        return f"A spike of any length that meets a sample sends on, and off not before {floor_ms(on_us)}."
    return (
        f"A closure shorter than {floor_ms(never_us)} is never heard; "
        f"one of {ceil_ms(sampling.always_us(debounce.press))} or more always is."
    )


def _breaks(debounce: Debounce, sampling: Sampling) -> str:
    never_us = sampling.never_us(debounce.release)
    if never_us == 0:
        return "A break of any length that meets a sample sends off."
    return (
        f"A break shorter than {floor_ms(never_us)} is never heard; "
        f"one of {ceil_ms(sampling.always_us(debounce.release))} or more always is."
    )


def _strokes(subject: str, down_us: float, up_us: float, shortest_us: float) -> str:
    certain = f"Every stroke that is down for {ceil_ms(down_us)} and up for {ceil_ms(up_us)} is heard"
    if shortest_us == 0:
        return f"{certain}."
    return f"{certain}; more than {strokes_a_second(shortest_us):g} strokes a second of one {subject} are merged."


def strokes_a_second(shortest_us: float) -> float:
    """Return the rate above which strokes are certainly merged, rounded up to a tenth."""
    return math.ceil(round(10_000_000 / shortest_us, 6)) / 10
