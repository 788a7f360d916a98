"""Which logic level means "on": from the way of sensing, the readings, and the contact's state at rest."""

from __future__ import annotations

from retrofit.survey.contacts import GroupBase
from retrofit.survey.wiring import LineState, Owner
from retrofit.survey.wishes import Interface, Sense


def sense_of(group: GroupBase, interface: Interface) -> Sense:
    """Return the way of sensing: as wished; for lines that are ours a pull-up, which every input can have."""
    if group.wanted.sense is not Sense.UNKNOWN:
        return group.wanted.sense
    ours = group.wiring.owner is Owner.US or interface is Interface.MATRIX
    return Sense.PULL_UP if ours else Sense.UNKNOWN


def keyed_reads_high(group: GroupBase, interface: Interface, chosen: bool | None = None) -> bool | None:
    """Return whether a keyed line reads as logic high, or None when nothing measured or stated settles it.

    What the job states wins; then `chosen`, the level behind the sense circuit that was worked out; then the readings
    with the wished way of sensing.
    """
    if group.wanted.keyed_reads_high is not None:
        return group.wanted.keyed_reads_high
    return _implied(group, interface) if chosen is None else chosen


def _implied(group: GroupBase, interface: Interface) -> bool | None:
    match sense_of(group, interface):
        case Sense.PULL_UP | Sense.SENSOR:
            return False
        case Sense.PULL_DOWN:
            return True
        case Sense.OPTOCOUPLER:
            return _from_optocoupler(group)
        case Sense.DIVIDER | Sense.OFFSET_DIVIDER | Sense.SPIKE_RATED:
            return _rises_when_keyed(group)
        case Sense.COMPARATOR:
            rises = _rises_when_keyed(group)
            return None if rises is None else not rises
        case Sense.UNKNOWN:
            return None


def _from_optocoupler(group: GroupBase) -> bool | None:
    """An optocoupler's output is low while its diode is lit, that is while the line is the further from zero."""
    idle, keyed = _volts(group.wiring.idle), _volts(group.wiring.keyed)
    if idle is None or keyed is None or abs(idle) == abs(keyed):
        return None
    return abs(keyed) < abs(idle)


def _rises_when_keyed(group: GroupBase) -> bool | None:
    idle, keyed = _volts(group.wiring.idle), _volts(group.wiring.keyed)
    if idle is None or keyed is None or idle == keyed:
        return None
    return keyed > idle


def _volts(state: LineState) -> float | None:
    volts: float | None = state.volts.value
    return volts
