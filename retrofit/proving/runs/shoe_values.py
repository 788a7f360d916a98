"""Whole shoe values out of single messages: the two halves of a fine one are joined."""

from __future__ import annotations

from retrofit.midi.messages import COARSE_BITS
from retrofit.proving.expected import Expected, ExpectedPoint


class ShoeValues:
    """Joins the halves; a fine value counts when its fine half has come (MIDI 1.0, Table III: coarse, then fine)."""

    def __init__(self, expected: Expected) -> None:
        self._expected = expected
        self._coarse = [0] * len(expected.shoe_points)
        self._fine = {index for index, is_fine in expected.shoes.values() if is_fine}

    def take(self, message: bytes) -> tuple[ExpectedPoint, int, int] | None:
        """Return shoe, value and bits when a message completes a value, else None."""
        found = self._expected.shoes.get(message[:2])
        if found is None:
            return None
        index, is_fine = found
        point = self._expected.shoe_points[index]
        if is_fine:
            return point, self._coarse[index] << COARSE_BITS | message[2], 2 * COARSE_BITS
        self._coarse[index] = message[2]
        return None if index in self._fine else (point, message[2], COARSE_BITS)
