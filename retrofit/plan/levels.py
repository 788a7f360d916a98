"""Logic levels of lines that are ours: what a pull-up leaves of the margins with the contacts as found."""

from __future__ import annotations

from retrofit.catalogue.load import Catalogue
from retrofit.catalogue.parts import Board
from retrofit.circuits.pullup import (
    PULL_UP_OHMS,
    PULL_UP_TOLERANCE,
    PullUpResults,
    PullUpSense,
    judge_pull_up,
    sense_on_expander,
    sense_on_pin,
    sense_on_register,
    sense_through_multiplexer,
)
from retrofit.circuits.result import Span
from retrofit.plan.front_ends import EXPANDER, multiplexer_of
from retrofit.plan.interfaces import interface_of
from retrofit.plan.polarity import sense_of
from retrofit.plan.scan_choice import REGISTER
from retrofit.survey.contacts import Group
from retrofit.survey.job import Job
from retrofit.survey.wishes import Interface, Sense


def pull_up_levels(job: Job, board: Board, catalogue: Catalogue) -> dict[str, PullUpResults]:
    """Return the results of every group whose contacts meet a pull-up on the chain or on pins."""
    return {
        group.id: judge_pull_up(
            sense,
            contact_ohms=group.wiring.contact_resistance.value,
            contact=catalogue.contacts.get(group.wiring.contact),
        )
        for group in job.groups
        if (sense := _sense(group, board, catalogue)) is not None
    }


def _sense(group: Group, board: Board, catalogue: Catalogue) -> PullUpSense | None:
    interface = interface_of(group)
    if interface is None or sense_of(group, interface) is not Sense.PULL_UP:
        return None
    match interface:
        case Interface.CHAIN:
            return sense_on_register(board, catalogue.registers[REGISTER])
        case Interface.PINS:
            return sense_on_pin(board, pull_up=Span.around(PULL_UP_OHMS, PULL_UP_TOLERANCE))
        case Interface.MULTIPLEXER:
            return sense_through_multiplexer(board, multiplexer_of(group, catalogue))
        case Interface.EXPANDER:
            return sense_on_expander(board, catalogue.expanders[EXPANDER])
        case Interface.MATRIX | Interface.LISTEN:
            return None
