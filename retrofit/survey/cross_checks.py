"""What one place of a job file says against what another says: ids, references and shared lines."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from retrofit.survey.contacts import ContactGroup, ContactPoint, Group, KeyGroup, ShoeGroup, ShoePoint
from retrofit.survey.diode_checks import diode_faults
from retrofit.survey.faults import Fault
from retrofit.survey.group_checks import group_faults
from retrofit.survey.members import Members
from retrofit.survey.operation_checks import operation_faults
from retrofit.survey.problems import ProblemKind, did_you_mean, listed, nearest, shown
from retrofit.survey.reading_checks import unknown_lines
from retrofit.survey.toml_lines import Path


def cross_faults(members: Members) -> Iterator[Fault]:
    """Yield every disagreement between parts of the job."""
    for kind in ("supplies", "divisions", "groups", "operations"):
        yield from _repeated_ids((kind,), members.ids[kind])
    for position, group in members.groups:
        path: Path = ("groups", position)
        yield from _repeated_ids_inside(path, group)
        yield from _unknown_references(path, group, members)
        yield from group_faults(path, group)
        yield from unknown_lines(path, group)
        yield from diode_faults(path, group)
    yield from _supply_faults(members)
    yield from _same_line_faults(members)
    yield from _stale_records(members)
    yield from operation_faults(members)


def _repeated_ids(path: Path, ids: Iterable[tuple[int, str]]) -> Iterator[Fault]:
    seen: dict[str, int] = {}
    for position, name in ids:
        if name in seen:
            found = f"the id {shown(name)} for the second time, first as number {seen[name] + 1} of {path[-1]}"
            yield Fault(ProblemKind.DUPLICATE_ID, (*path, position), found, "an id once", "give one of them another id")
        seen.setdefault(name, position)


def _repeated_ids_inside(path: Path, group: Group) -> Iterator[Fault]:
    match group:
        case KeyGroup():
            yield from _repeated_ids((*path, "contacts"), [(i, c.id) for i, c in enumerate(group.contacts)])
            keys = [(i, f"{p.note} {p.contact or group.contacts[0].id}") for i, p in enumerate(group.points)]
            yield from _repeated_keys((*path, "points"), keys)
        case ContactGroup() | ShoeGroup():
            points: Sequence[ContactPoint | ShoePoint] = group.points
            yield from _repeated_ids((*path, "points"), [(i, p.id) for i, p in enumerate(points)])


def _repeated_keys(path: Path, keys: Iterable[tuple[int, str]]) -> Iterator[Fault]:
    seen: set[str] = set()
    for position, name in keys:
        if name in seen:
            found = f"note and contact '{name}' for the second time"
            yield Fault(
                ProblemKind.DUPLICATE_ID, (*path, position), found, "a key contact once", "join the two entries"
            )
        seen.add(name)


def _unknown_references(path: Path, group: Group, members: Members) -> Iterator[Fault]:
    yield from _unknown_division((*path, "division"), group.division, members)
    if isinstance(group, KeyGroup):
        for position, contact in enumerate(group.contacts):
            place = (*path, "contacts", position, "division")
            yield from _unknown_division(place, contact.division, members)
    supplies = members.known_ids("supplies")
    for position, common in enumerate(group.wiring.commons):
        if common.supply is not None and members.is_stray("supplies", common.supply):
            remedy = did_you_mean(common.supply, supplies) or "describe the supply under [[supplies]]"
            place = (*path, "wiring", "commons", position, "supply")
            yield Fault(ProblemKind.UNKNOWN_SUPPLY, place, shown(common.supply), listed(sorted(supplies)), remedy)


def _unknown_division(path: Path, name: str | None, members: Members) -> Iterator[Fault]:
    known = members.known_ids("divisions")
    if name is not None and members.is_stray("divisions", name):
        remedy = did_you_mean(name, known) or "describe the division under [[divisions]]"
        yield Fault(ProblemKind.UNKNOWN_DIVISION, path, shown(name), listed(sorted(known)), remedy)


def _supply_faults(members: Members) -> Iterator[Fault]:
    for position, supply in members.supplies:
        for key in ("volts_rest", "volts_typical", "volts_full"):
            volts = getattr(supply, key).value
            if supply.polarity == "positive" and volts is not None and volts < 0:
                found = f"{getattr(supply, key)} on a supply whose polarity is positive"
                yield Fault(
                    ProblemKind.POLARITY_DISAGREES,
                    ("supplies", position, key),
                    found,
                    "volts of the same sign as the polarity",
                    'correct the one that is wrong, or write polarity = "unknown"',
                )


def _same_line_faults(members: Members) -> Iterator[Fault]:
    seen: dict[str, int] = {}
    for position, line in members.same_lines:
        for place, point in enumerate(line.points):
            path: Path = ("same_lines", position, "points", place)
            if point in seen:
                found = f"{shown(point)} again, first in entry {seen[point] + 1} of same_lines"
                remedy = "put all points of one line into one entry, each once"
                yield Fault(ProblemKind.LINE_SAID_TWICE, path, found, "a point once", remedy)
            seen.setdefault(point, position)
            if members.is_stray_point(point):
                remedy = did_you_mean(point, members.point_ids) or "name points as group.point"
                yield Fault(ProblemKind.UNKNOWN_POINT, path, shown(point), "a point of the job", remedy)


def _stale_records(members: Members) -> Iterator[Fault]:
    """Yield recorded lines of points that are not there, each with the point that the line is most likely of."""
    for table, kind, what, points in (
        ("addresses", ProblemKind.STALE_ADDRESS, "an address", members.addresses),
        ("messages", ProblemKind.STALE_MESSAGE, "a message", members.messages),
    ):
        for point in filter(members.is_stray_point, points):
            found = f"{what} of {shown(point)}, which is no point"
            yield Fault(kind, (table, point), found, "points of the job", _mended(point, points, members))


def _mended(stray: str, recorded: Iterable[str], members: Members) -> str:
    """Return the remedy for a line of a stray point: points of its group that have no line yet come first."""
    free = [point.id for point in members.points if point.id not in frozenset(recorded)]
    group = stray.partition(".")[0]
    own = [point for point in free if point.partition(".")[0] == group]
    near = nearest(stray, own or free) or (own[0] if len(own) == 1 else None)
    return f"rename the line to {near}, or delete the line" if near else "delete the line"
