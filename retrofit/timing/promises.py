"""The figures behind a debounce's guarantees: latency clean and with bounce, pulses, repetition, and what it fails at.

n samples in a row span at least (n - 1) T - J and a state that lasts n T + J holds at least n of them, for samples due
every T and taken up to J late.  Bounce of length B delays any family by B at most: the last of it counts as the edge.
"""

from __future__ import annotations

from dataclasses import dataclass

from retrofit.survey.wishes import DebounceFamily
from retrofit.timing.choose import covered_us
from retrofit.timing.debounce import Debounce
from retrofit.timing.guarantees import Sampling
from retrofit.timing.words import ceil_ms, floor_ms


@dataclass(frozen=True, slots=True)
class Edge:
    """One direction of a debounce, in microseconds from the first touch until the sample that reports the change.

    A state shorter than `never_us` is always rejected, one of `always_us` or more always accepted; with `clean_us_max`
    for an edge without bounce and `bounced_us_max` for one with the bounce to be covered, None while that is unknown.
    """

    clean_us_max: float
    bounced_us_max: float | None
    never_us: float
    always_us: float


@dataclass(frozen=True, slots=True)
class Promises:
    """What one group's debounce promises.

    Strokes down and up for `press.always_us` and `release.always_us` are all heard, up to `certain_per_s` of them;
    more than `merged_per_s` are certainly merged (None when no number is).  Bounce up to `covered_us` strikes once.
    """

    press: Edge
    release: Edge
    covered_us: float
    certain_per_s: float
    merged_per_s: float | None
    fails_when: tuple[str, ...]


def promises(debounce: Debounce, sampling: Sampling, bounce_us: float | None = None, gap_us: float = 0.0) -> Promises:
    """Return the figures of a debounce under a bounce to be covered and the gaps of an unfiltered supply."""
    first_edge = debounce.family is DebounceFamily.FIRST_EDGE
    press = _hold_edge(debounce, sampling, bounce_us) if first_edge else _edge(debounce.press, sampling, bounce_us)
    release = press if first_edge else _edge(debounce.release, sampling, bounce_us)
    shortest_us = sampling.apart_us(2 * debounce.hold if first_edge else debounce.press + debounce.release)
    covered = max(0.0, covered_us(debounce, sampling.period_us) - sampling.jitter_us)
    return Promises(
        press=press,
        release=release,
        covered_us=covered,
        certain_per_s=1e6 / (press.always_us + release.always_us),
        merged_per_s=1e6 / shortest_us if shortest_us else None,
        fails_when=_fails_when(debounce, sampling, covered, gap_us),
    )


def _edge(samples: int, sampling: Sampling, bounce_us: float | None) -> Edge:
    clean = sampling.always_us(samples)
    return Edge(clean, _with_bounce(clean, bounce_us), sampling.never_us(samples), clean)


def _hold_edge(debounce: Debounce, sampling: Sampling, bounce_us: float | None) -> Edge:
    """First edge: any state that meets a sample is believed, and one as long as the hold-off is never lost."""
    clean = sampling.always_us(1)
    return Edge(clean, _with_bounce(clean, bounce_us), 0.0, sampling.always_us(max(1, debounce.hold)))


def _with_bounce(clean_us: float, bounce_us: float | None) -> float | None:
    return None if bounce_us is None else clean_us + bounce_us


def _fails_when(debounce: Debounce, sampling: Sampling, covered: float, gap_us: float) -> tuple[str, ...]:
    said = [f"bounce longer than {floor_ms(covered)} may strike twice"]
    if debounce.family is DebounceFamily.FIRST_EDGE:
        said += [
            f"one spike that meets a sample sounds for {floor_ms(sampling.apart_us(debounce.hold))}",
            f"the release of a tap may come {ceil_ms(sampling.always_us(debounce.hold))} late",
        ]
    elif debounce.press > 1 and debounce.family is DebounceFamily.INTEGRATOR:
        said.append("a dirty contact that is closed for half of the time or less may never sound")
    elif debounce.press > 1:
        said.append(f"a dirty contact that never stays closed for {debounce.press} samples in a row never sounds")
    else:
        said.append(
            f"one spike that meets a sample sounds for at least {floor_ms(sampling.apart_us(debounce.release))}"
        )
    if gap_us:
        said.append(f"the supply's gaps move the release by up to {ceil_ms(gap_us)}")
    return tuple(said)
