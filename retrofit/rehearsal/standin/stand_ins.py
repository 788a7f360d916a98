"""Putting a stand-in console together from a plan: its wiring with faults, and the bounce of each contact."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from retrofit.catalogue.load import Catalogue
from retrofit.plan.model import ConversionPlan
from retrofit.rehearsal.bounce import Bounce
from retrofit.rehearsal.from_plan import known_bounce
from retrofit.rehearsal.standin.console import StandIn
from retrofit.rehearsal.standin.faults.grammar import parse_fault
from retrofit.rehearsal.standin.faults.kind import Fault
from retrofit.rehearsal.standin.faults.names import Names
from retrofit.rehearsal.standin.from_plan import wiring_of
from retrofit.rehearsal.standin.wiring import Wiring


def names_of(plan: ConversionPlan, catalogue: Catalogue) -> Names:
    """Return the names by which faults of a plan's console are told."""
    return Names(plan, wiring_of(plan, catalogue).wires)


def spoilt_wiring(plan: ConversionPlan, catalogue: Catalogue, faults: Sequence[Fault]) -> Wiring:
    """Return the wiring of a plan with faults done to it, one after the other."""
    wiring = wiring_of(plan, catalogue)
    for fault in faults:
        fault.spoil(wiring)
    return wiring


@dataclass(frozen=True, slots=True)
class Setup:
    """How a stand-in is made: faults in words, a seed, and the longest bounce in microseconds where none is known."""

    faults: tuple[str, ...] = ()
    seed: int = 0
    assumed_bounce_us: float | None = None


def stand_in(plan: ConversionPlan, catalogue: Catalogue, setup: Setup | None = None) -> StandIn:
    """Return the stand-in of a plan.  Raises `FaultError` for a fault that cannot be done."""
    made = setup or Setup()
    names = names_of(plan, catalogue)
    wiring = spoilt_wiring(plan, catalogue, [parse_fault(words, names) for words in made.faults])
    return StandIn(plan, wiring, bounces_of(plan, made.assumed_bounce_us), made.seed)


def bounces_of(plan: ConversionPlan, assumed_us: float | None = None) -> dict[str, Bounce]:
    """Return the bounce of each point's contacts, those left out of which nothing is known."""
    by_group = {group.id: known_bounce(group, assumed_us) for group in plan.groups}
    return {point.point.id: bounce for point in plan.points if (bounce := by_group.get(point.point.group)) is not None}
