"""What is asked of a layout, and what it answers."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from retrofit.scan.layout import ScanLayout
from retrofit.survey.wishes import MatrixDrive

InterfaceWord = Literal["chain", "matrix", "pins", "converter", "multiplexer", "expander", "listen"]


@dataclass(frozen=True, slots=True)
class PlaceRequest:
    """One place in a group's order of wiring; `point` is None for a place that is only kept free.

    `inverted` is True when the control's "on" reads low.  A point that does not take part keeps its place unread.
    """

    point: str | None
    inverted: bool = False
    takes_part: bool = True


@dataclass(frozen=True, slots=True)
class MatrixStyle:
    """How a group would have its matrix read.

    `precharge_us` is 0 where the columns are left to their pull-ups; `rise_us` is the wait that they then need, None
    where that is the group's own.
    """

    drive: MatrixDrive = MatrixDrive.FLOATING
    precharge_us: float = 0.0
    rise_us: float | None = None


@dataclass(frozen=True, slots=True)
class ListenStyle:
    """How a keyboard that the organ scans is laid out, and how long its returns settle at our inputs.

    `silent_us` is how long a strobe may be silent before its keys are off, `round_us` the shortest and the longest time
    from one strobe of a line to its next.
    """

    strobes: int
    returns: int
    neighbours_share_strobe: bool
    active_low: bool
    settle_us: float
    silent_us: float
    round_us: tuple[float, float]

    @property
    def banks(self) -> int:
        """How many ports its returns take."""
        return -(-self.returns // 8)


@dataclass(frozen=True, slots=True)
class GroupRequest:
    """A group's contacts in their order of wiring and how they reach the board.

    `speed` orders the groups: 0 for keys, 1 for pistons, 2 for stops and stages.  `settle_us` is the wait that a
    matrix of this group needs between driving a row and reading it, or its multiplexers behind a change of the selected
    input.
    """

    group: str
    interface: InterfaceWord
    speed: int
    places: tuple[PlaceRequest, ...]
    matrix_columns: int = 8
    settle_us: float = 5.0
    multiplexer_inputs: int = 16
    matrix_style: MatrixStyle = MatrixStyle()
    listen: ListenStyle | None = None


@dataclass(frozen=True, slots=True)
class Unplaced:
    """A point without an address, in the parts of a sentence.

    `conflict` is True when an address that is already wired cannot stand, False when there is no room.
    """

    point: str
    group: str
    conflict: bool
    found: str
    allowed: str
    remedy: str


@dataclass(frozen=True, slots=True)
class LayoutResult:
    """The layout of everything that found a place, and what found none."""

    layout: ScanLayout
    unplaced: tuple[Unplaced, ...]
