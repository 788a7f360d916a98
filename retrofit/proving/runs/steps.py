"""The steps of a run over one division, in the order in which a console is proved."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum

from retrofit.proving.expected import Expected, ExpectedPoint
from retrofit.survey.points import PointKind


class StepKind(StrEnum):
    """What is done in a step; the order is that of the work."""

    IDLE = "idle picture"
    RUN = "slow run"
    ASKED = "asked for"
    FAST = "fast run"
    CHORDS = "chords"
    STOPS = "stops one by one"
    ALL_STOPS = "all stops"
    COMBINATION = "combination change"
    SHOES = "shoes"
    PISTONS = "pistons"
    SOAK = "soak"
    CAUSE = "to find the cause"


@dataclass(frozen=True, slots=True)
class ChordTest:
    """Points to hold together; `ghosts` says which points' diodes are suspect when a set of others is heard as well."""

    points: tuple[str, ...]
    ghosts: Mapping[frozenset[str], tuple[str, ...]] = field(default_factory=dict)

    def suspects(self, extra: frozenset[str]) -> tuple[str, ...]:
        """Return whose diodes explain what was heard beside the chord, none where no single one does."""
        return self.ghosts.get(extra, ())


@dataclass(frozen=True, slots=True)
class Step:
    """One step: what is done with which points.  Points of which nothing is expected are not among them."""

    kind: StepKind
    subject: str
    points: tuple[ExpectedPoint, ...]
    chords: tuple[ChordTest, ...] = ()

    @property
    def title(self) -> str:
        """What the step is called; no two steps of a run are called the same."""
        return f"{self.subject}: {self.kind}"


def steps_of(
    expected: Expected, division: str, chords: Mapping[str, Sequence[ChordTest]] | None = None
) -> tuple[Step, ...]:
    """Return the steps that prove a division; `chords` holds the chord tests of each group that has some."""
    contacts = [point for point in expected.contacts if point.division == division]
    shoes = tuple(point for point in expected.shoe_points if point.division == division and point.excuse is None)
    return (
        Step(StepKind.IDLE, division, tuple(contacts)),
        *_key_steps(contacts, chords or {}),
        *_stop_steps(contacts),
        *(Step(StepKind.SHOES, shoe.id, (shoe,)) for shoe in shoes),
        *_runs(contacts, PointKind.PISTON, StepKind.PISTONS),
        Step(StepKind.SOAK, division, tuple(contacts)),
    )


def _key_steps(contacts: Sequence[ExpectedPoint], chords: Mapping[str, Sequence[ChordTest]]) -> Iterator[Step]:
    for step in _runs(contacts, PointKind.KEY, StepKind.RUN):
        yield step
        if step.kind is StepKind.ASKED:
            yield Step(StepKind.FAST, step.subject, step.points)
            if chords.get(step.subject):
                yield Step(StepKind.CHORDS, step.subject, step.points, tuple(chords[step.subject]))


def _runs(contacts: Sequence[ExpectedPoint], point_kind: PointKind, kind: StepKind) -> Iterator[Step]:
    """Yield, for each group of a kind, a run over it and the asking for what the run did not bring."""
    for group, points in _groups(contacts, point_kind):
        yield Step(kind, group, points)
        yield Step(StepKind.ASKED, group, points)


def _stop_steps(contacts: Sequence[ExpectedPoint]) -> Iterator[Step]:
    stops = list(_groups(contacts, PointKind.STOP))
    for group, points in stops:
        yield Step(StepKind.STOPS, group, points)
        yield Step(StepKind.ALL_STOPS, group, points)
    if stops:
        division = contacts[0].division
        yield Step(StepKind.COMBINATION, division, tuple(point for _, points in stops for point in points))


def _groups(contacts: Sequence[ExpectedPoint], kind: PointKind) -> Iterator[tuple[str, tuple[ExpectedPoint, ...]]]:
    names = dict.fromkeys(point.group for point in contacts if point.kind is kind)
    for name in names:
        points = [p for p in contacts if p.group == name and p.kind is kind and p.excuse is None]
        if points:
            yield name, tuple(sorted(points, key=lambda point: point.position))
