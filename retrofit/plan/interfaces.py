"""Which interface each group gets when the job does not say."""

from __future__ import annotations

from retrofit.survey.contacts import GroupBase, ShoeGroup, ShoeSensor
from retrofit.survey.wishes import Interface

PULLED_UP: dict[Interface | None, str] = {
    Interface.PINS: "direct pin",
    Interface.MULTIPLEXER: "multiplexer input",
    Interface.EXPANDER: "expander input",
}
"""Interfaces whose inputs the firmware pulls up so that none floats, and what such an input is called."""


def interface_of(group: GroupBase) -> Interface | None:
    """Return the interface of a group's contacts; None for shoes that only need the converter.

    The shift-in chain is proposed for every group whose job does not choose: it needs no bus to be split, takes
    three pins for any number of contacts, and its inputs may be pulled up or driven.
    """
    if isinstance(group, ShoeGroup) and not any(shoe.sensor is ShoeSensor.STEPS for shoe in group.points):
        return None
    return group.wanted.interface or Interface.CHAIN


def interface_word(group: GroupBase) -> str:
    """Return the interface as the plan prints it."""
    interface = interface_of(group)
    return "converter" if interface is None else interface.value
