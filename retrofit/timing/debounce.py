"""The debounce of a group, in samples, and what it guarantees.

`first-edge`: a change is reported at the first differing sample; the next `hold - 1` samples are ignored and sample
`hold` after the event is compared again.  `consecutive`: `press` differing samples in a row (also for release).
`asymmetric`: `press` samples in a row for on, `release` for off.  `integrator`: every sample that differs from the
reported state adds 1 to a lead, every one that agrees takes 1 from it, never below 0; a lead of `press` reports on, one
of `release` off, and the lead begins anew.  With both equal to M that is a counter between 0 and M, moved up by closed
samples and down by open ones, which reports at its ends.
"""

from __future__ import annotations

from dataclasses import dataclass

from retrofit.survey.wishes import DebounceFamily


@dataclass(frozen=True, slots=True)
class Debounce:
    """Counts of samples.  `hold` serves the first-edge family, `press` and `release` the other three."""

    family: DebounceFamily
    press: int = 1
    release: int = 1
    hold: int = 0
