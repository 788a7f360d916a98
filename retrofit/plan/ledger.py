"""The ledger of a job: every step of its conversion in the order in which it is done.

Steps written down by hand come first, because they make room; then boards, sensors, buses, cables, contacts and taps
from the board outward; last supply and MIDI lead.  Nothing joins the organ before its board is there to hold it.
"""

from __future__ import annotations

from collections.abc import Iterator

from retrofit.midi.names import note_name
from retrofit.plan.hand_steps import hand_step
from retrofit.plan.interfaces import interface_of
from retrofit.plan.ledger_scope import Scope, scope_of
from retrofit.plan.lines import WiredLine
from retrofit.plan.long_commons import long_commons
from retrofit.plan.operations import NOTHING_TO_READ, Operation
from retrofit.plan.proof import contact_proof, line_proof
from retrofit.plan.scanner_taps import scanner_taps
from retrofit.plan.slug import slugs
from retrofit.plan.step_kinds import BOARD, CABLE, CONTACT, MIDI, SENSOR, SPLIT, SUPPLY, TAPS, StepKind, step
from retrofit.survey.contacts import Condition, Group
from retrofit.survey.instrument import MidiOut, Wanted
from retrofit.survey.job import Job
from retrofit.survey.operations import OperationKind
from retrofit.survey.points import PointKind
from retrofit.survey.wiring import Owner
from retrofit.survey.wishes import Interface, Sense

PLACE_UNKNOWN = "place not written down"
_AS_FOUND = {Condition.DEAD: "dead as found", Condition.CIPHERING: "always on as found"}


def ledger(job: Job) -> tuple[Operation, ...]:
    """Return every step of the conversion; a line whose owner is unknown counts as the organ's."""
    scope = scope_of(job)
    by_group = (_sensors, _splits, _cables, _contacts, _taps)
    return (
        *(hand_step(written, scope) for written in job.operations),
        *_boards(scope),
        *(found for steps in by_group for group in scope.groups for found in steps(scope, group)),
        *_leads(scope),
    )


_ON_OWN_BOARDS = (Interface.CHAIN, Interface.MATRIX, Interface.MULTIPLEXER, Interface.EXPANDER)
"""Interfaces whose parts sit on a board beside the contacts."""


def _boards(scope: Scope) -> Iterator[Operation]:
    """Yield the controller board, then one step per place where our other boards are put up."""
    everywhere = scope.served(scope.groups)
    if everywhere:
        what = f"controller board {scope.job.wanted.board}"
        preserved = scope.any_preserved(everywhere)
        yield step(BOARD, "mount-board.controller", "console", what, divisions=everywhere, preserved=preserved)
    places: dict[str, list[Group]] = {}
    for group in scope.groups:
        if interface_of(group) in _ON_OWN_BOARDS:
            places.setdefault(_place(group), []).append(group)
    for (place, groups), name in zip(places.items(), slugs(places, taken={"controller"}), strict=True):
        divisions = scope.served(groups)
        yield step(
            BOARD,
            f"mount-board.{name}",
            groups[0].id if len(groups) == 1 else "console",
            f"board of {', '.join(_name(group) for group in groups)}: {place}",
            divisions=divisions,
            preserved=any(scope.preserved(group) for group in groups),
        )


def _place(group: Group) -> str:
    place = " ".join(group.wiring.board_place.split())
    return PLACE_UNKNOWN if place.casefold() in ("", "unknown") else place


def _name(group: Group) -> str:
    return group.name or group.id


def _reached_by(scope: Scope, group: Group) -> OperationKind:
    """Return how a group is reached.  What is ours in an organ that is preserved was added beside its circuits."""
    ours = group.wiring.owner is Owner.US
    if group.wanted.sense is Sense.SENSOR or (ours and scope.preserved(group)):
        return OperationKind.FIT_SENSOR
    return OperationKind.WIRE_CONTACT if ours else OperationKind.TAP_LINE


def _sensors(scope: Scope, group: Group) -> Iterator[Operation]:
    """Yield sensors of our own: a shoe each, contacts together."""
    if _reached_by(scope, group) is not OperationKind.FIT_SENSOR:
        return
    shoes = [line for line in scope.lines[group.id] if line.point.kind is PointKind.SHOE]
    for line in shoes:
        point = line.point
        divisions = scope.in_order(line.divisions)
        preserved = scope.preserved(group)
        yield step(SENSOR, f"fit-sensor.{point.id}", point.id, point.name, divisions=divisions, preserved=preserved)
    yield from _parts(scope, group, "fit-sensor", "sensors for {name} (contacts: {count})")


def _contacts(scope: Scope, group: Group) -> Iterator[Operation]:
    """Yield the wires to contacts that were taken over."""
    if _reached_by(scope, group) is OperationKind.WIRE_CONTACT:
        yield from _parts(scope, group, "wire-contact", "contacts of {name}: {count}")


def _cables(scope: Scope, group: Group) -> Iterator[Operation]:
    return _parts(scope, group, "run-cable", "cable from {name} (lines: {count})")


_PARTS = {"fit-sensor": SENSOR, "wire-contact": CONTACT, "run-cable": CABLE}


def _parts(scope: Scope, group: Group, word: str, what: str) -> Iterator[Operation]:
    """Yield one step for the lines of a group in each division, so that a division can be taken out by itself."""
    for division, lines in scope.by_division(group).items():
        wanted = [line for line in lines if word != "fit-sensor" or line.point.kind is not PointKind.SHOE]
        if wanted:
            own = division == group.division
            called = _name(group) if own else f"{_name(group)}, division {division}"
            yield step(
                _PARTS[word],
                f"{word}.{group.id}" if own else f"{word}.{group.id}.{division}",
                group.id,
                what.format(count=_wires(group) or len(wanted), name=called),
                divisions=scope.in_order(name for line in wanted for name in line.divisions),
                preserved=scope.preserved(group),
                proof=contact_proof(group) if word == "wire-contact" else NOTHING_TO_READ,
            )


def _wires(group: Group) -> int:
    """Return the wires to a keyboard that the organ scans: its strobes and returns; 0 for any other group."""
    found = group.wiring.strobes if interface_of(group) is Interface.LISTEN else None
    return 0 if found is None else (found.strobes or 0) + (found.returns or 0)


def _splits(scope: Scope, group: Group) -> Iterator[Operation]:
    if interface_of(group) is not Interface.MATRIX:
        return
    contacts = sum(point.kind is not PointKind.SHOE for point in scope.points[group.id])
    for number, (common, last) in enumerate(long_commons(group, contacts), start=1):
        yield step(
            SPLIT,
            f"split-bus.{group.id}.{number}",
            group.id,
            f"{common.name} of {_name(group)}, contacts {common.first} to {last}",
            divisions=scope.served([group]),
            preserved=scope.preserved(group),
            originals=(common.name,),
        )


def _taps(scope: Scope, group: Group) -> Iterator[Operation]:
    """Yield a step per line, strip by strip; lines whose strip was not written down come last."""
    if _reached_by(scope, group) is not OperationKind.TAP_LINE:
        return
    if interface_of(group) is Interface.LISTEN:
        yield from scanner_taps(scope, group)
        return
    lines = scope.lines[group.id]
    strips = list(dict.fromkeys(line.point.found.strip for line in lines))
    order = {strip: (strip == "", place) for place, strip in enumerate(strips)}
    for line in sorted(lines, key=lambda line: order[line.point.found.strip]):
        yield _tap(scope, group, line)


def _tap(scope: Scope, group: Group, line: WiredLine) -> Operation:
    point, found = line.point, line.point.found
    tag = f"tag {found.tag}" if found.tag else "a tag that was not written down"
    return step(
        TAPS[group.wanted.tap],
        f"tap-line.{point.id}",
        point.id,
        " ".join(filter(None, (point.name, "" if point.note is None else note_name(point.note), f"({point.id})"))),
        divisions=scope.in_order(line.divisions),
        preserved=scope.preserved(group),
        proof=line_proof(group, point, scope.points[group.id]),
        strip=found.strip,
        tag=found.tag,
        originals=(f"{tag} on strip {found.strip}" if found.strip else tag,),
        remark="; ".join(filter(None, (_AS_FOUND.get(found.condition, ""), *_shared(line)))),
    )


def _shared(line: WiredLine) -> Iterator[str]:
    return (f"also carries {point.id}" for point in line.sharing if point.takes_part)


def _leads(scope: Scope) -> Iterator[Operation]:
    divisions = scope.served(scope.groups)
    if divisions:
        preserved = scope.any_preserved(divisions)
        yield step(SUPPLY, "fit-supply.own", "console", "our own supply", divisions=divisions, preserved=preserved)
        for lead, step_id, what in _midi_leads(scope.job.wanted):
            yield step(lead, step_id, "console", what, divisions=divisions, preserved=preserved)


def _midi_leads(wanted: Wanted) -> Iterator[tuple[StepKind, str, str]]:
    """Yield the leads that carry MIDI; a job that changes from one outlet to the other keeps the step of its lead."""
    if wanted.by_din:
        yield MIDI[MidiOut.DIN], "plug-midi.lead", "MIDI by DIN"
    if wanted.by_usb:
        yield MIDI[MidiOut.USB], "plug-midi.usb-lead" if wanted.by_din else "plug-midi.lead", "MIDI by USB"
