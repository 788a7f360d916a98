"""Using an existing diode board again under our row drive: which pins become rows and columns, and in what order.

Our rows are pulled low, so current must leave the board by its rows and enter by its columns.
"""

from __future__ import annotations

from dataclasses import dataclass

from retrofit.scan.matrix_faults.recognise import BoardFound
from retrofit.scan.matrix_places import COLUMNS, ROWS

NO_KEY = -1


@dataclass(frozen=True, slots=True)
class Reuse:
    """How a board is connected.  `reasons` say why it cannot be used as it is; empty when it can.

    `row_pins` and `column_pins` go to our rows and columns in this order.  `contact_order` gives the key at each
    contact, row by row, -1 where there is none.
    """

    row_pins: tuple[str, ...]
    column_pins: tuple[str, ...]
    contact_order: tuple[int, ...]
    reasons: tuple[str, ...]


def reuse(board: BoardFound) -> Reuse:
    """Return how a recognised board is connected to our rows and columns, or why it cannot be."""
    at = {crossing: key for key, crossing in board.crossings.items()}
    order = tuple(at.get((row, column), NO_KEY) for row in board.rows for column in board.columns)
    return Reuse(board.rows, board.columns, order, _reasons(board))


def direction_fits(board: BoardFound, row_pins: frozenset[str]) -> bool:
    """True when pins that somebody means to drive as rows are those by which current leaves the board.

    Where it is False rows and columns must change places: the other pins are the rows.
    """
    return row_pins == frozenset(board.rows)


def _reasons(board: BoardFound) -> tuple[str, ...]:
    reasons = [f"{contradiction.found}; {contradiction.remedy}" for contradiction in board.contradictions]
    for word, found, most in (("rows", board.rows, ROWS), ("columns", board.columns, COLUMNS)):
        if len(found) > most:
            reasons.append(
                f"{len(found)} {word}: one of our matrices has {most}; cut the board's common {word} into groups of "
                f"{most}, or bring its keys to the chain"
            )
    if not board.complete:
        missing = len(board.keys) - len(board.crossings)
        reasons.append(f"{missing} of {len(board.keys)} keys have no crossing yet; go on reading")
    return tuple(reasons)
