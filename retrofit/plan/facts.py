"""Everything that planning found out, for the rules to judge: the job, the layout, the messages and the timing."""

from __future__ import annotations

from dataclasses import dataclass, field

from retrofit.catalogue.parts import Board
from retrofit.circuits.bus_clock import BusClock
from retrofit.circuits.pullup import PullUpResults
from retrofit.circuits.sense.design import SenseDesign
from retrofit.midi.assignment import Assignment
from retrofit.plan.interfaces import interface_of
from retrofit.plan.model import GroupPlan, MessageChange, Move, PointPlan
from retrofit.plan.preserved import is_preserved
from retrofit.plan.sensing.model import GroupSensing, IsolationPlan, PowerPlan, SupplyFelt
from retrofit.scan.layout import ScanLayout
from retrofit.scan.requests import Unplaced
from retrofit.survey.contacts import GroupBase
from retrofit.survey.job import Job
from retrofit.survey.points import PointKind
from retrofit.survey.wishes import Interface
from retrofit.timing.choose import ChosenDebounce, ContactBounce


@dataclass(frozen=True, slots=True)
class Facts:
    """A planned job before it is judged.

    `board` is None when the catalogue does not hold the one asked for, `tick_us` is None when no sampling period is
    long enough.  `assumptions` are (subject, words) of what had to be assumed about cables.
    """

    job: Job
    board: Board | None
    boards_known: tuple[str, ...]
    points: tuple[PointPlan, ...]
    groups: tuple[GroupPlan, ...]
    layout: ScanLayout
    assignment: Assignment
    tick_us: int | None
    busy_us: float
    unplaced: tuple[Unplaced, ...] = ()
    moves: tuple[Move, ...] = ()
    debounce: dict[str, ChosenDebounce] = field(default_factory=dict)
    bounce: dict[str, ContactBounce] = field(default_factory=dict)
    assumptions: tuple[tuple[str, str], ...] = ()
    levels: dict[str, PullUpResults] = field(default_factory=dict)
    contacts_known: tuple[str, ...] = ()
    sensing: tuple[GroupSensing, ...] = ()
    supplies_felt: tuple[SupplyFelt, ...] = ()
    isolation: IsolationPlan | None = None
    power: PowerPlan | None = None
    message_changes: tuple[MessageChange, ...] = ()
    bus: BusClock | None = None
    strobes: SenseDesign | None = None

    def group(self, group_id: str) -> GroupBase:
        """Return the survey's group of that id."""
        return next(group for group in self.job.groups if group.id == group_id)

    def sensing_of(self, group_id: str) -> GroupSensing | None:
        """Return how a group is sensed; None for shoes on the converter, and where there is no board."""
        return next((sensed for sensed in self.sensing if sensed.group == group_id), None)

    def chosen_level(self, group_id: str) -> bool | None:
        """Return whether a keyed line reads high behind the group's chosen circuit, None while that is not settled."""
        sensed = self.sensing_of(group_id)
        return None if sensed is None or sensed.chosen is None else sensed.chosen.keyed_reads_high

    def interface_of(self, group_id: str) -> Interface | None:
        """Return the interface of a group's contacts; None when it only has converter channels."""
        return interface_of(self.group(group_id))

    def preserved(self, group: GroupBase) -> bool:
        """Return whether the originals of this group stay as they were."""
        return is_preserved(self.job, group)

    def contacts_in(self, group_id: str) -> int:
        """Return how many contacts a group has."""
        return sum(plan.point.group == group_id and plan.point.kind is not PointKind.SHOE for plan in self.points)
