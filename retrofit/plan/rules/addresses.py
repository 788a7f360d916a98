"""Rules about the board and about where points are read."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby

from retrofit.circuits.two_wire_bus import MOST_FARADS
from retrofit.midi.kept import wired_divisions
from retrofit.plan.facts import Facts
from retrofit.plan.model import Severity
from retrofit.plan.recorded import unreadable_addresses
from retrofit.plan.rules.rule import Rule, Said
from retrofit.scan.addresses import FORMS
from retrofit.scan.requests import Unplaced
from retrofit.survey.contacts import ShoeGroup, ShoePoint, ShoeSensor


def _board_unknown(facts: Facts) -> Iterator[Said]:
    if facts.board is None:
        yield Said(
            "wanted.board",
            f"the board {facts.job.wanted.board!r} is not in the catalogue",
            ", ".join(facts.boards_known),
            "choose one of these",
        )


def _midi_out_missing(facts: Facts) -> Iterator[Said]:
    wanted, board = facts.job.wanted, facts.board
    asked = {"din": wanted.by_din, "usb": wanted.by_usb}
    if board is not None and any(asked[outlet] for outlet in asked if outlet not in board.midi_outlets):
        yield Said(
            "wanted.midi_out",
            f"MIDI by {' and '.join(outlet.upper() for outlet in asked if asked[outlet])} is wanted of {board.name}, "
            f"which sends it by {' and '.join(outlet.upper() for outlet in board.midi_outlets)}",
            ", ".join(board.midi_outlets) + (", both" if len(board.midi_outlets) > 1 else ""),
            "choose what the board has, or another board under wanted.board; by DIN, a sound module or an interface of "
            "the computer receives it",
        )


def _no_address(facts: Facts) -> Iterator[Said]:
    """Yield the points without a place; what is the same of all points of a group is said once, of the group."""
    homeless = (unplaced for unplaced in facts.unplaced if not unplaced.conflict)
    for (group, found, allowed, remedy), points in groupby(homeless, key=_said_of):
        first, *others = points
        yield Said(f"groups.{group}" if others else first.point, found, allowed, remedy)


def _said_of(unplaced: Unplaced) -> tuple[str, str, str, str]:
    return unplaced.group, unplaced.found, unplaced.allowed, unplaced.remedy


def _wired_conflict(facts: Facts) -> Iterator[Said]:
    for unplaced in facts.unplaced:
        if unplaced.conflict:
            yield Said(unplaced.point, unplaced.found, unplaced.allowed, unplaced.remedy)


def _would_move(facts: Facts) -> Iterator[Said]:
    group_of = {plan.point.id: plan.point.group for plan in facts.points}
    for group, moves in groupby(facts.moves, key=lambda move: group_of[move.point]):
        first, *others = moves
        more = f", and {len(others)} more with it" if others else ""
        yield Said(
            f"groups.{group}",
            f"{first.point} was recorded at {first.recorded} and this plan puts it at {first.proposed}{more}",
            "a recorded address moves only when you say so",
            "accept with `retrofit record --accept-moves`, or mark its division as wired to keep it where it is",
        )


def _wired_without(facts: Facts) -> Iterator[Said]:
    """Speak of wired points that the layout had to place by itself, group by group."""
    wired, recorded = wired_divisions(facts.job), facts.job.addresses
    lost = [
        plan
        for plan in facts.points
        if plan.point.division in wired and plan.address is not None and plan.point.same_line_as is None
        if plan.point.id not in recorded
    ]
    for group, plans in groupby(lost, key=lambda plan: plan.point.group):
        first, *others = plans
        more = f", and {len(others)} more with it" if others else ""
        yield Said(
            f"groups.{group}",
            f"{first.point.id} is of a wired division and has no recorded address; this plan puts it at "
            f"{first.address}{more}",
            "a recorded address for every point that is wired",
            "write the address at which it is wired under [addresses], or wire it at this one and keep it with "
            "`retrofit record`",
        )


def _unreadable(facts: Facts) -> Iterator[Said]:
    for point, text in unreadable_addresses(facts.job).items():
        yield Said(
            f"addresses.{point}",
            f"the recorded address {text!r} names no place",
            f"{', '.join(FORMS[:-1])} or {FORMS[-1]}",
            "correct it from the wiring schedule, or delete the line to have the point placed afresh",
        )


def _stepped_shoes_together(facts: Facts) -> Iterator[Said]:
    for group in facts.job.groups:
        stepped = [shoe.id for shoe in group.points if _is_stepped(shoe)] if isinstance(group, ShoeGroup) else []
        if len(stepped) > 1:
            yield Said(
                f"groups.{group.id}.points",
                f"{len(stepped)} shoes with stepped contacts are in one group: {', '.join(stepped)}",
                "one such shoe in a group, because a group's stages are decoded together",
                "give each shoe with stepped contacts a group of its own",
            )


def _is_stepped(shoe: ShoePoint) -> bool:
    return shoe.sensor is ShoeSensor.STEPS


def _bus_too_long(facts: Facts) -> Iterator[Said]:
    bus = facts.bus
    if bus is not None and bus.hz is None:
        yield Said(
            "groups",
            f"{bus.farads * 1e12:.0f} pF hang on the two-wire bus of the expanders",
            f"at most {MOST_FARADS * 1e12:.0f} pF, and a pull-up that is neither too strong nor too slow",
            "bring the expanders nearer to the board, or read some of the groups by the chain",
        )


RULES = (
    Rule(
        "board-unknown",
        "The board is not in the catalogue",
        Severity.ERROR,
        "board wanted",
        _board_unknown,
        locked=True,
        why="Pins, levels and speed come from the board's own figures; nothing can be planned without them.",
        remedy="choose a board of the catalogue",
    ),
    Rule(
        "midi-out-not-on-board",
        "The board cannot send MIDI this way",
        Severity.ERROR,
        "MIDI output wanted with what the board has",
        _midi_out_missing,
        locked=True,
        why="The board has no such socket or interface, so that nothing would ever leave it.",
        remedy="choose what the board has, or another board",
    ),
    Rule(
        "address-unreadable",
        "A recorded address cannot be read",
        Severity.ERROR,
        "the text of recorded addresses with the forms of an address",
        _unreadable,
        locked=True,
        why=(
            "A recorded address says where a wire is soldered; one that cannot be read would let the wire's point"
            " move without a word."
        ),
        remedy="correct it from the wiring schedule, or delete it to have the point placed afresh",
    ),
    Rule(
        "stepped-shoes-share-group",
        "Two shoes with stepped contacts are in one group",
        Severity.ERROR,
        "shoes with stepped contacts in each group",
        _stepped_shoes_together,
        locked=True,
        why="The stages of a group are decoded as one row of contacts; two shoes in one row read as one.",
        remedy="give each shoe with stepped contacts a group of its own",
    ),
    Rule(
        "expander-bus-too-long",
        "No pull-up makes the expanders' bus work",
        Severity.ERROR,
        "the capacitance of the bus with what the pull-ups of its two modes can charge in time",
        _bus_too_long,
        locked=True,
        why="Edges that rise too slowly are read as other bits, so that keys that nobody pressed are heard.",
        remedy="shorten the cables, use fewer expanders, or read some of the groups by the chain",
    ),
    Rule(
        "no-address-left",
        "More points than addresses or pins",
        Severity.ERROR,
        "contacts of each group with the places of its interface",
        _no_address,
        locked=True,
        why="A contact without an address is never read.",
        remedy="choose an interface with more room, or another board",
    ),
    Rule(
        "wired-address-in-conflict",
        "An address that is already wired cannot stand",
        Severity.ERROR,
        "recorded addresses of wired points with each other and with the board",
        _wired_conflict,
        locked=True,
        why="Two wires cannot end on one input, and a wire cannot end where the board has none.",
        remedy="compare with the wiring as it is, and correct the recorded address that is wrong",
    ),
    Rule(
        "wired-point-without-address",
        "A point of a wired division has no recorded address",
        Severity.WARNING,
        "points of wired divisions with the recorded addresses",
        _wired_without,
        why="Such a point is placed afresh, and if its wire lies elsewhere it is never heard.",
        remedy="write down where it is wired, or wire it where the plan puts it and record that",
    ),
    Rule(
        "address-would-move",
        "A recorded address would move",
        Severity.WARNING,
        "recorded addresses with those of this plan",
        _would_move,
        why="Whoever wires by an older schedule would solder to an address that has moved since.",
        remedy="agree to the move and print anew, or mark the division as wired to keep its addresses",
    ),
)
