"""Measuring bounce on a live board: a group is captured in as many parts as the board's memory asks for.

A bounce is known to a sample: first and last edge each fall somewhere in the period before the sample that shows
them, so that n periods between samples are less than n + 1 periods between edges.  What is reported is that bound.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import ceil

from retrofit.firmware.link.answers import Capture, Captured
from retrofit.firmware.link.board import LiveBoard
from retrofit.firmware.link.words import Kind

REST_US = 40_000
"""A contact is at rest when it has not changed for so long; no usable key bounces longer (common practice, no source).

The board counts 255 samples at most: a group that is sampled more often than every 157 µs rests for less, as
`Part.rest_us` says.
"""
LATE_MOST = 255
"""The board counts late samples up to this many."""
_REST_SAMPLES_MAX = 255
_LANE_BITS = 8


@dataclass(frozen=True, slots=True)
class Part:
    """Contacts that are captured together, and how often the group is sampled."""

    capture: Capture
    contacts: tuple[int, ...]
    period_us: int

    @property
    def rest_us(self) -> int:
        """How long a contact does not change before the board takes it for at rest."""
        return self.capture.rest_samples * self.period_us


@dataclass(frozen=True, slots=True)
class Bounce:
    """What was measured of a contact: whole strokes, and bounds of the longest bounce each way, None without one."""

    contact: int
    strokes: int
    press_us: int | None
    release_us: int | None
    edges_most: int
    spikes: int
    captured: Captured

    @property
    def longest_us(self) -> int:
        """The longer of the two ways; 0 for a contact that was never played."""
        return max(self.press_us or 0, self.release_us or 0)

    @property
    def late(self) -> int | None:
        """Samples of its capture that came late, of which a bounce may be measured too short; None is unknown."""
        return self.captured.late


def begin_parts(board: LiveBoard, lanes: Sequence[int], contacts: Sequence[int], period_us: int) -> Iterator[Part]:
    """Begin the capture of each part of a group's lanes in turn; the next begins when the iterator is asked for it."""
    rest_samples = min(_REST_SAMPLES_MAX, max(1, ceil(REST_US / period_us)))
    left = sorted(lanes)
    while left:
        capture = board.capture(left[0], rest_samples)
        taken = [lane for lane in left if lane < capture.first_lane + capture.lanes]
        inside = tuple(contact for contact in contacts if contact // _LANE_BITS in taken)
        if inside:
            yield Part(capture, inside, period_us)
        left = [lane for lane in left if lane not in taken]
    board.order(Kind.CAPTURE_END)


def measured(board: LiveBoard, part: Part) -> tuple[Bounce, ...]:
    """Return what has been captured so far of each contact of a part."""
    return tuple(bounce_of(board.captured(contact), part.period_us) for contact in part.contacts)


def bounce_of(captured: Captured, period_us: int) -> Bounce:
    """Return the bounds that the captured samples put on a contact's bounce."""
    press, release = captured.press, captured.release
    return Bounce(
        contact=captured.contact,
        strokes=min(press.strokes, release.strokes),
        press_us=(press.longest_bounce + 1) * period_us if press.strokes else None,
        release_us=(release.longest_bounce + 1) * period_us if release.strokes else None,
        edges_most=max(press.edges_most, release.edges_most),
        spikes=captured.spikes,
        captured=captured,
    )


def play_until(
    board: LiveBoard, part: Part, strokes: int, goes_on: Callable[[Mapping[int, int]], bool]
) -> tuple[Bounce, ...]:
    """Return what was measured when every contact had its strokes, or when `goes_on` said no.

    `goes_on` is told the strokes of each contact after every look, and may wait before it answers.
    """
    while True:
        found = measured(board, part)
        counts = {bounce.contact: bounce.strokes for bounce in found}
        if min(counts.values()) >= strokes or not goes_on(counts):
            return found
