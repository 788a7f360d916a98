"""How much of a board's memory its link may take: contacts captured at once, and contacts that play for others."""

from __future__ import annotations

from dataclasses import dataclass

from retrofit.catalogue.parts import Board

_CAPTURE_LANE_BYTES = 8 * 34 + 3
"""What one captured lane takes: eight contacts' bounces and the lane's own state (`bounces.h`, `capture.c`)."""
_CAPTURE_PERCENT = 30
"""Part of the memory that the capture gets; the scan of a large console needs a quarter of it."""
_CAPTURE_LANES_MAX = 31
_LITTLE_RAM_BYTES = 4096
"""With less, USB and the scan leave room for one lane only."""
REMAP_ROWS = 8
"""More wrong wires than this are put right on the terminals, not in a list."""


@dataclass(frozen=True, slots=True)
class LinkSizes:
    """The sizes of the link in the firmware's table."""

    capture_lanes: int
    remap_rows: int = REMAP_ROWS


def link_sizes(board: Board) -> LinkSizes:
    """Return the sizes that suit a board's data memory."""
    if board.ram_bytes < _LITTLE_RAM_BYTES:
        return LinkSizes(capture_lanes=1)
    return LinkSizes(min(_CAPTURE_LANES_MAX, board.ram_bytes * _CAPTURE_PERCENT // 100 // _CAPTURE_LANE_BYTES))
