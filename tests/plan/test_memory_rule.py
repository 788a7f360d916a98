"""A console that is too large for a small board is said before anything is compiled."""

from __future__ import annotations

import pytest

from tests.plan.jobs import FIRING, plan_of

RULE = "memory-too-small"


def test_data_memory_that_does_not_reach_stops_the_build() -> None:
    """Six manuals of 61 first-edge keys want more than the 2,560 bytes that the chip has (Atmel 7766)."""
    plan = plan_of(FIRING[RULE])
    found = [finding for finding in plan.errors if finding.rule == RULE]
    assert found
    assert all(finding.subject == "wanted.board" for finding in found)
    assert any("of data memory" in finding.message and "2560 bytes" in finding.message for finding in found)


@pytest.mark.parametrize(
    ("text", "by"),
    [('board = "atmega32u4"\nmidi_out = "usb"', 'board = "atmega2560"'), ("count = 61", "count = 13")],
)
def test_a_larger_board_or_a_smaller_console_fits(text: str, by: str) -> None:
    """The same console on the larger board, and a smaller one on the same board, are not refused."""
    smaller = FIRING[RULE].replace(text, by)
    assert smaller != FIRING[RULE]
    assert RULE not in {finding.rule for finding in plan_of(smaller).findings}
