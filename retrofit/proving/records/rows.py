"""The rows of a record as the rest of the program sees them."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Kind(StrEnum):
    """What a run listened to."""

    LIVE = "live"
    REPLAY = "replay"
    REHEARSAL = "rehearsal"


class State(StrEnum):
    """How a run stands: one that is still open was interrupted, or is going on elsewhere."""

    OPEN = "open"
    STOPPED = "stopped"
    FINISHED = "finished"


@dataclass(frozen=True, slots=True)
class RunHead:
    """What a run was of, in front of its entries.

    `digest` is that of the plan, `port` what was listened to, `began` the date and time in UTC, `course` the steps and
    limits in JSON, from which the run is made again.
    """

    division: str
    digest: str
    kind: Kind
    port: str
    who: str
    began: str
    course: str


@dataclass(frozen=True, slots=True)
class RunRow:
    """A run in the file; `number` counts from 1.  `ended` is empty while it is open."""

    number: int
    head: RunHead
    state: State
    ended: str = ""


@dataclass(frozen=True, slots=True)
class PointRow:
    """How one point came out; times are microseconds."""

    point: str
    words: str
    group: str
    verdict: str
    strokes: int
    bounces: int
    longest_bounce_us: int
    shortest_on_us: int | None
    remark: str


@dataclass(frozen=True, slots=True)
class RemarkRow:
    """One line of a run's outcome beside its points: a finding, a chord test, a step that was not done, a cause."""

    what: str
    subject: str
    words: str


@dataclass(frozen=True, slots=True)
class ReadingRow:
    """A reading taken at a visit, before or after the work: what was read, where, how much, in which unit."""

    what: str
    place: str
    when: str
    value: float
    unit: str
