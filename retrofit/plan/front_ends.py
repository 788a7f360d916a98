"""Which parts stand between a group's contacts and the board, and how long they take."""

from __future__ import annotations

from retrofit.catalogue.load import Catalogue
from retrofit.catalogue.parts import Board, Multiplexer
from retrofit.circuits.bus_clock import BusClock, highest_bus_hz
from retrofit.circuits.common_settle import common_settle
from retrofit.circuits.pullup import PULL_UP_OHMS, PULL_UP_TOLERANCE
from retrofit.circuits.settle import SettleWait
from retrofit.plan.interfaces import interface_of
from retrofit.survey.contacts import GroupBase
from retrofit.survey.job import Job
from retrofit.survey.wishes import Interface

MULTIPLEXERS = {8: "74hc4051", 16: "74hc4067"}
"""The part for each number of inputs."""
EXPANDER = "mcp23017"
"""The expander that the firmware sets up."""


def multiplexer_of(group: GroupBase, catalogue: Catalogue) -> Multiplexer:
    """Return the kind of multiplexer that a group asks for."""
    return catalogue.multiplexers[MULTIPLEXERS[group.wanted.multiplexer_inputs]]


def multiplexer_wait(group: GroupBase, board: Board, catalogue: Catalogue) -> SettleWait:
    """Return how long the scan waits between selecting an input of a group's multiplexers and reading the commons."""
    return common_settle(
        board,
        multiplexer_of(group, catalogue),
        catalogue.cables["unknown"],
        cable_m=group.wiring.cable_length.value,
        pull_up_ohms=PULL_UP_OHMS * (1 + PULL_UP_TOLERANCE),
    )


def bus_clock(job: Job, board: Board, catalogue: Catalogue, devices: int) -> BusClock | None:
    """Return the clock of the two-wire bus that runs to every group on expanders; None when there is none."""
    groups = [group for group in job.groups if interface_of(group) is Interface.EXPANDER]
    if not groups:
        return None
    lengths = tuple(group.wiring.cable_length.value for group in groups)
    return highest_bus_hz(board, catalogue.expanders[EXPANDER], catalogue.cables["unknown"], devices, lengths)
