"""What a plan says of the numbers that its board uses: which contact is which point, which shoe is which."""

from __future__ import annotations

from pathlib import Path

from retrofit.catalogue.load import load_catalogue
from retrofit.catalogue.parts import Board
from retrofit.cli.board_description import description_text, held_plan
from retrofit.cli.names import known_name
from retrofit.cli.output import Exit, Stop, talk
from retrofit.firmware.link.board import LiveBoard
from retrofit.firmware.link.words import Text
from retrofit.firmware.shoe_rows import shoe_rows
from retrofit.firmware.table import point_words
from retrofit.plan.model import ConversionPlan

BITS = 8


def plan_on_board(board: LiveBoard, plan: ConversionPlan, file: Path) -> ConversionPlan:
    """Return the plan that the board runs, when its contacts and shoes are where those of the file's plan are.

    What was measured and written changes the file's plan, and the board still runs the one before: it is then read
    back from the board.  The command ends where the board's numbers would mean other points.
    """
    digest = board.text(Text.JOB_DIGEST)
    if digest == plan.digest:
        return plan
    text = description_text(board)
    held = held_plan(text) if text else None
    if held is None or held.digest != digest or not _same_places(held, plan):
        raise Stop(
            Exit.PROBLEMS,
            f"the board holds plan {digest}, {file} plans as {plan.digest}, whose inputs may be others",
            f"see what differs with: retrofit board PORT compare {file}",
        )
    talk(f"the board holds plan {digest}, not {plan.digest} of {file}; its inputs are in the same places")
    return held


def _same_places(first: ConversionPlan, second: ConversionPlan) -> bool:
    return contact_points(first) == contact_points(second) and shoe_points(first) == shoe_points(second)


def contact_points(plan: ConversionPlan) -> dict[int, str]:
    """Return the point id of every contact that is used, by the board's number: lane times eight plus bit."""
    return {
        lane.index * BITS + bit: point
        for lane in plan.layout.lanes
        for bit, point in enumerate(lane.points)
        if point is not None and lane.used >> bit & 1
    }


def contact_of(plan: ConversionPlan, point: str) -> int:
    """Return the board's number of a point's contact; end the command when it has none."""
    contacts = {name: contact for contact, name in contact_points(plan).items()}
    return contacts[known_name("contact", point, list(contacts))]


def point_names(plan: ConversionPlan) -> dict[str, str]:
    """Return what the user calls each point, by its id."""
    return {point.point.id: point_words(point.point) for point in plan.points}


def board_of(plan: ConversionPlan) -> Board:
    """Return the catalogue's entry of the plan's board; end the command when there is none."""
    boards = load_catalogue().boards
    known_name("board", plan.board, sorted(boards))
    return boards[plan.board]


def shoe_points(plan: ConversionPlan) -> tuple[str, ...]:
    """Return the point ids of the board's shoes in the order of its table."""
    return tuple(row.subject for row in shoe_rows(plan, board_of(plan)).shoes)
