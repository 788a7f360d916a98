"""Where the other side of the contacts goes: the commons of lines that are ours, and the organ's return."""

from __future__ import annotations

from collections.abc import Iterator

from retrofit.circuits.sense import pull_down, pull_up
from retrofit.papers.connection import RETURN, SUPPLY, Connection, Section
from retrofit.plan.model import ConversionPlan
from retrofit.plan.sensing.model import GroupSensing
from retrofit.survey.contacts import GroupBase

CONTACTS, ORGAN = "contacts", "organ"
_FEEDS = {pull_up.CIRCUIT: RETURN, pull_down.CIRCUIT: SUPPLY}
"""To what the common of our own contacts goes, by circuit; a matrix has rows in its place."""


def commons(plan: ConversionPlan) -> Section:
    """Return the section of the commons; without connections where no circuit calls for any."""
    groups = {group.id: group for group in plan.job.groups}
    ours = (end for sensed in plan.sensing for end in _of_ours(sensed, groups[sensed.group]))
    heading = "COMMONS: the other side of the contacts"
    return Section((heading,), (*ours, *_of_the_organ(plan)))


def _of_ours(sensed: GroupSensing, group: GroupBase) -> Iterator[Connection]:
    feed = _FEEDS.get(sensed.chosen.circuit) if sensed.chosen is not None and sensed.line.ours else None
    if feed is None:
        return
    for common in group.wiring.commons:
        reach = f"{common.name}, contacts {common.first} to {common.last or 'the last'}"
        yield Connection(CONTACTS, "", "common", feed, group=group.id, found=f"{group.id}: {reach}")
    if not group.wiring.commons:
        yield Connection(CONTACTS, "", "common", feed, group=group.id, found=f"{group.id}: all contacts")


def _of_the_organ(plan: ConversionPlan) -> Iterator[Connection]:
    """Yield the one wire by which circuits that are not isolated measure against the organ's return."""
    joined = () if plan.isolation is None else plan.isolation.joined_groups
    if joined:
        found = f"for {', '.join(joined)}"
        yield Connection(ORGAN, "", "organ's return", f"{RETURN}: one wire, at one point", found=found)
