"""Debounce on a supply that falls to nothing between half waves.

A release is believed only after the longest gap, and a press within the time that lies between two gaps.
"""

from __future__ import annotations

from dataclasses import replace
from math import floor

from retrofit.circuits.sense.line import Ripple
from retrofit.circuits.sense.rectifier_gap import MAINS_TOLERANCE
from retrofit.survey.wishes import DebounceFamily
from retrofit.timing.choose import COUNT_MAX, ChosenDebounce, TimingProblem
from retrofit.timing.debounce import Debounce


def samples_in_gap(gap_us: float, period_us: float) -> int:
    """Return the most samples that a gap can spoil: floor(gap/T) + 1."""
    return floor(gap_us / period_us) + 1


def between_gaps_us(ripple: Ripple, gap_us: float) -> float:
    """Return the least time from the end of one gap to the beginning of the next, at the quickest mains."""
    half_waves = 2 if ripple.full_wave else 1
    return max(0.0, 1e6 / (half_waves * ripple.mains_hz * (1 + MAINS_TOLERANCE)) - gap_us)


def bridge_gaps(
    chosen: ChosenDebounce, gap_us: float, period_us: int, between_us: float | None = None
) -> ChosenDebounce:
    """Return the debounce whose release outlasts the gaps and whose press fits between two of them.

    `between_us` is the time between two gaps, None where it is unknown.  A gap longer than the firmware counts is a
    problem, and so is a time between gaps that a sample may miss.
    """
    wanted = samples_in_gap(gap_us, period_us) + 1
    given = chosen.debounce
    between = COUNT_MAX if between_us is None else floor(between_us / period_us)
    press = 1 if given.family is DebounceFamily.FIRST_EDGE else max(1, min(given.press, between))
    release = max(given.hold if given.family is DebounceFamily.FIRST_EDGE else given.release, wanted)
    debounce = Debounce(DebounceFamily.ASYMMETRIC, press=press, release=min(release, COUNT_MAX))
    reason = (
        f"asymmetric, because the supply's gaps of up to {gap_us / 1e3:.2f} ms spoil up to {wanted - 1} samples, "
        "and a release waits for one more"
    )
    shortened = f"; a press of {given.press} samples would never fit between two gaps" * (press < given.press)
    problems = (*chosen.problems, *_too_long(wanted, period_us), *_missed(between, period_us))
    return replace(chosen, debounce=debounce, reasons=(*chosen.reasons, reason + shortened), problems=problems)


def _too_long(wanted: int, period_us: int) -> tuple[TimingProblem, ...]:
    if wanted <= COUNT_MAX:
        return ()
    return (
        TimingProblem(
            "debounce-count-too-large",
            f"the supply's gaps want {wanted} samples of {period_us} µs",
            f"the firmware counts to {COUNT_MAX}",
            "hold the peaks with a diode and a capacitor, or have the group sampled less often",
        ),
    )


def _missed(between: int, period_us: int) -> tuple[TimingProblem, ...]:
    if between >= 1:
        return ()
    return (
        TimingProblem(
            "press-between-gaps",
            f"the line reads keyed for less than {period_us} µs between two gaps, so that samples may all miss it",
            "at least one sample between two gaps",
            "hold the peaks with a diode and a capacitor, or have the group sampled more often",
        ),
    )
