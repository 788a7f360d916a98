"""Rules about existing diode boards, as far as their readings go."""

from __future__ import annotations

from collections.abc import Iterator

from retrofit.plan.diode_board import DiodeBoard, RowDrive, diode_board
from retrofit.plan.facts import Facts
from retrofit.plan.model import Severity
from retrofit.plan.rules.rule import Rule, Said


def _boards(facts: Facts) -> Iterator[DiodeBoard]:
    return (diode_board(group) for group in facts.job.groups if group.wiring.diode_readings)


def _contradict(facts: Facts) -> Iterator[Said]:
    for found in _boards(facts):
        for contradiction in found.board.contradictions:
            yield Said(
                _subject(found),
                contradiction.found,
                "each key conducts one way, through a pair of pins of its own",
                contradiction.remedy,
            )


def _recognised(facts: Facts) -> Iterator[Said]:
    for found in _boards(facts):
        board = found.board
        if board.complete and not board.contradictions:
            turned = "; its commons are columns, not rows" if found.drive is RowDrive.TURNED else ""
            yield Said(
                _subject(found),
                f"{len(board.keys)} keys on {len(board.rows)} rows and {len(board.columns)} columns{turned}",
                "; ".join(found.reuse.reasons) or "it can be used again under our row drive",
                f"retrofit diodes FILE {found.group} says which pin goes where",
            )


def _subject(found: DiodeBoard) -> str:
    return f"groups.{found.group}.wiring.diode_readings"


RULES = (
    Rule(
        "diode-readings-contradict",
        "Readings of a diode board contradict each other",
        Severity.WARNING,
        "diode readings of a group with each other",
        _contradict,
        why=(
            "A reversed, bridged or missing diode, or a reading of two keys at once, puts keys where they are not; "
            "wired by it, the board plays wrong notes or ghosts."
        ),
        remedy="hold the accused key alone and read again, both ways; the later reading stands for the earlier",
    ),
    Rule(
        "diode-board-recognised",
        "A diode board is recognised whole",
        Severity.NOTE,
        "diode readings of a group with the regular orders of keys",
        _recognised,
        why="An existing diode board saves a diode and two joints at every key when our rows suit its direction.",
        remedy="connect its pins as `retrofit diodes` shows, or bring the keys to the chain and leave the board",
    ),
)
