"""Debounce on a supply that falls to nothing between half waves: a release is believed only after the longest gap."""

from __future__ import annotations

from dataclasses import replace
from math import floor

from retrofit.survey.wishes import DebounceFamily
from retrofit.timing.choose import COUNT_MAX, ChosenDebounce, TimingProblem
from retrofit.timing.debounce import Debounce


def samples_in_gap(gap_us: float, period_us: float) -> int:
    """Return the most samples that a gap can spoil: floor(gap/T) + 1."""
    return floor(gap_us / period_us) + 1


def bridge_gaps(chosen: ChosenDebounce, gap_us: float, period_us: int) -> ChosenDebounce:
    """Return the debounce whose release outlasts the gaps; a gap longer than the firmware counts is a problem."""
    wanted = samples_in_gap(gap_us, period_us) + 1
    given = chosen.debounce
    press = 1 if given.family is DebounceFamily.FIRST_EDGE else given.press
    release = max(given.hold if given.family is DebounceFamily.FIRST_EDGE else given.release, wanted)
    debounce = Debounce(DebounceFamily.ASYMMETRIC, press=press, release=min(release, COUNT_MAX))
    reason = (
        f"asymmetric, because the supply's gaps of up to {gap_us / 1e3:.2f} ms spoil up to {wanted - 1} samples, "
        "and a release waits for one more"
    )
    problems = (*chosen.problems, *_too_long(wanted, period_us))
    return replace(chosen, debounce=debounce, reasons=(*chosen.reasons, reason), problems=problems)


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
