"""The debounce of a group, in samples, and what it guarantees.

`first-edge`: a change is reported at the first differing sample; the next `hold - 1` samples are ignored and sample
`hold` after the event is compared again.  `consecutive`: `press` differing samples in a row (also for release).
`asymmetric`: `press` samples in a row for on, `release` for off.
"""

from __future__ import annotations

from dataclasses import dataclass

from retrofit.survey.wishes import DebounceFamily


@dataclass(frozen=True, slots=True)
class Debounce:
    """Counts of samples.  `hold` serves the first-edge family, `press` and `release` the other two."""

    family: DebounceFamily
    press: int = 1
    release: int = 1
    hold: int = 0
