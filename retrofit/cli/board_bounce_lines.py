"""What `retrofit board PORT bounce` shows: a row for each contact, how the strokes are spread, and what bounds them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from retrofit.cli.terminal import columns
from retrofit.firmware.link.bounce_run import LATE_MOST, REST_US, Bounce, Part
from retrofit.firmware.link.words import BINS

_HEAD = ("contact", "name", "strokes", "closing", "opening", "most edges", "spikes")
_UNKNOWN = "not played"
_BAR_CELLS = 24


def ms(time_us: int) -> str:
    """Return a time in milliseconds."""
    return f"{time_us / 1000:g} ms"


def bounce_lines(
    found: Sequence[Bounce], parts: Sequence[Part], contacts: Mapping[int, str], words: Mapping[str, str]
) -> list[str]:
    """Return the table, the histogram, and what is to be known of the figures; `words` are names by point id."""
    period_us = parts[0].period_us
    rows = [_row(one, contacts[one.contact], words) for one in found]
    bound = f"bounces are less than what is shown, which is known to one sample of {period_us} µs"
    return [*columns([_HEAD, *rows]), "", *_histogram(found, period_us), "", bound, *_short_rest(parts), *_late(found)]


def _row(one: Bounce, point: str, words: Mapping[str, str]) -> tuple[str, ...]:
    ways = (_UNKNOWN if time_us is None else ms(time_us) for time_us in (one.press_us, one.release_us))
    return (point, words[point], str(one.strokes), *ways, str(one.edges_most), str(one.spikes))


def _histogram(found: Sequence[Bounce], period_us: int) -> list[str]:
    """Return the strokes of all contacts by their bounce; the board's bins double, the last is for all longer ones."""
    closing = [sum(one.captured.press.bins[place] for one in found) for place in range(BINS)]
    opening = [sum(one.captured.release.bins[place] for one in found) for place in range(BINS)]
    most = max(1, *closing, *opening)
    limits = [f"under {ms(period_us << place)}" for place in range(BINS - 1)]
    names = [*limits, f"{ms(period_us << (BINS - 2))} or more"]
    last = max((place for place in range(BINS) if closing[place] or opening[place]), default=0)
    rows = [
        (names[place], str(closing[place]), _bar(closing[place], most), str(opening[place]), _bar(opening[place], most))
        for place in range(last + 1)
    ]
    return columns([("bounce of a stroke", "closing", "", "opening", ""), *rows])


def _bar(number: int, most: int) -> str:
    """Return a bar; what is there at all has one cell."""
    return "#" * -(-number * _BAR_CELLS // most)


def _short_rest(parts: Sequence[Part]) -> Iterator[str]:
    rest_us = min(part.rest_us for part in parts)
    if rest_us < REST_US:
        yield f"a contact was taken for at rest after {ms(rest_us)}, as long as the board counts: a longer gap in a "
        yield "bounce would show as two strokes"


def _late(found: Sequence[Bounce]) -> Iterator[str]:
    if any(one.late is None for one in found):
        yield "whether samples came late is not known: the board's sketch is older than the count of them"
    late = most_late(found)
    if late:
        yield f"{_late_words(late)}: bounces may be longer than is shown"


def late_words(found: Sequence[Bounce]) -> str:
    """Return how many samples came late, in words."""
    return _late_words(most_late(found))


def _late_words(late: int) -> str:
    return f"{late}{' or more' if late == LATE_MOST else ''} samples of a part came late"


def most_late(found: Sequence[Bounce]) -> int:
    """Return the most samples that came late in a part, as far as it is known."""
    return max((one.late or 0 for one in found), default=0)


def bounce_content(one: Bounce, contacts: Mapping[int, str]) -> dict[str, Any]:
    """Return what was measured of a contact for other programs; null is unknown."""
    return {
        "point": contacts[one.contact],
        "strokes": one.strokes,
        "closing_us": one.press_us,
        "opening_us": one.release_us,
        "most_edges": one.edges_most,
        "spikes": one.spikes,
        "closing_bins": list(one.captured.press.bins),
        "opening_bins": list(one.captured.release.bins),
        "late_samples": one.late,
    }
