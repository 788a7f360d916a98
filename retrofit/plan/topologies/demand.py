"""What a comparison starts from: the board and its parts, and what each group asks of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from retrofit.catalogue.front_ends import (
    FirmwareMemory,
    load_firmware_memory,
    load_packages,
    load_serial_expanders,
)
from retrofit.catalogue.load import Catalogue
from retrofit.catalogue.parts import Board, Cable, Expander, FirmwareCosts, Register
from retrofit.circuits.settle import ASSUMED_CABLE_M
from retrofit.plan.listening import listen_styles
from retrofit.plan.preserved import is_preserved
from retrofit.plan.requests import FrontEnds, group_requests
from retrofit.plan.scan_choice import REGISTER
from retrofit.plan.sensing.candidates import Candidate as Circuit
from retrofit.plan.sensing.groups import sense_groups
from retrofit.plan.sensing.model import GroupSensing
from retrofit.plan.sensing.supplies import OrganSupplies
from retrofit.plan.topologies.kinds import EXPANDERS, Kind
from retrofit.scan.requests import GroupRequest
from retrofit.survey.contacts import Group
from retrofit.survey.job import Job
from retrofit.survey.points import Point

CONVERTER = "converter"
STAYING = (CONVERTER, "listen")
"""Interfaces whose groups stay as the job has them: for them there is nothing to compare."""


@dataclass(frozen=True, slots=True)
class Bench:
    """The board and the parts that the ways of reading are built of.

    `circuits` keeps the sense circuits of a group before an input that were worked out already.
    """

    board: Board
    catalogue: Catalogue
    costs: FirmwareCosts
    memory: FirmwareMemory
    packages: dict[str, int]
    supplies: OrganSupplies
    circuits: dict[tuple[str, str], tuple[Circuit, ...]] = field(default_factory=dict)

    @classmethod
    def of(cls, job: Job, board: Board, catalogue: Catalogue) -> Bench:
        """Return the bench of a job."""
        return cls(
            board,
            catalogue,
            catalogue.firmware_costs[board.id],
            load_firmware_memory()[board.id],
            load_packages(),
            OrganSupplies.of(job),
        )

    @property
    def register(self) -> Register:
        """The register of the chain."""
        return self.catalogue.registers[REGISTER]

    @property
    def cable(self) -> Cable:
        """The cable that stands for one whose kind is not known: the worst of each figure."""
        return self.catalogue.cables["unknown"]

    def expander(self, kind: Kind) -> Expander:
        """Return the expander of a kind."""
        part = EXPANDERS[kind]
        return self.catalogue.expanders[part] if kind is Kind.TWO_WIRE else load_serial_expanders()[part]

    @property
    def free_pins(self) -> int:
        """Pins that the board does not keep for itself."""
        return sum(pin.reserved is None for pin in self.board.pins)


@dataclass(frozen=True, slots=True)
class Demand:
    """A group's contacts in their order of wiring, and what is known of their wiring."""

    group: Group
    request: GroupRequest
    contacts: int
    sensing: GroupSensing
    preserved: bool

    @property
    def places(self) -> int:
        """Places in the order of wiring, those that are kept free among them."""
        return len(self.request.places)

    @property
    def cable_m(self) -> float | None:
        """The length of the cable, None where it was not measured."""
        length: float | None = self.group.wiring.cable_length.value
        return length

    @property
    def cable_taken_m(self) -> float:
        """The length, or the one that stands for it, marked."""
        return ASSUMED_CABLE_M if self.cable_m is None else self.cable_m

    @property
    def assumed(self) -> tuple[str, ...]:
        """What had to be assumed of the cable."""
        return () if self.cable_m is not None else (f"the cable is taken as {ASSUMED_CABLE_M:g} m long",)


def demands(job: Job, points: Sequence[Point], bench: Bench) -> tuple[tuple[Demand, ...], tuple[GroupRequest, ...]]:
    """Return the demand of every group of contacts, and the requests for converter channels, which stay as they are."""
    sensing = {sensed.group: sensed for sensed in sense_groups(job, points, bench.board, bench.catalogue)}
    requests = group_requests(job, points, FrontEnds(listened=listen_styles(job, bench.board, bench.catalogue)), {})
    groups = {group.id: group for group in job.groups}
    found = tuple(
        Demand(
            group=groups[request.group],
            request=request,
            contacts=sum(place.point is not None for place in request.places),
            sensing=sensing[request.group],
            preserved=is_preserved(job, groups[request.group]),
        )
        for request in requests
        if request.interface not in STAYING and request.places
    )
    return found, tuple(request for request in requests if request.interface in STAYING)
