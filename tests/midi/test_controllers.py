"""Controller numbers against MIDI 1.0 Table III (read in copies of the table)."""

from __future__ import annotations

import pytest

from retrofit.midi.controllers import CONTROLLERS, EXPRESSION, GENERAL_PURPOSE, Standing, free_controllers


@pytest.mark.parametrize(
    ("number", "name", "standing"),
    [
        (0, "bank select", Standing.RESERVED),
        (1, "modulation", Standing.RESERVED),
        (2, "breath controller", Standing.DEFINED),
        (3, "undefined", Standing.UNDEFINED),
        (4, "foot controller", Standing.DEFINED),
        (7, "channel volume", Standing.RESERVED),
        (11, "expression", Standing.RESERVED),
        (16, "general purpose 1", Standing.GENERAL),
        (32, "bank select (fine)", Standing.RESERVED),
        (38, "data entry (fine)", Standing.RESERVED),
        (39, "channel volume (fine)", Standing.SPARED),
        (43, "expression (fine)", Standing.SPARED),
        (46, "undefined (fine)", Standing.UNDEFINED),
        (64, "damper pedal", Standing.RESERVED),
        (83, "general purpose 8", Standing.GENERAL),
        (91, "effects 1 depth", Standing.DEFINED),
        (96, "data increment", Standing.RESERVED),
        (101, "RPN (coarse)", Standing.RESERVED),
        (102, "undefined", Standing.UNDEFINED),
        (119, "undefined", Standing.UNDEFINED),
        (120, "all sound off", Standing.CHANNEL_MODE),
        (123, "all notes off", Standing.CHANNEL_MODE),
        (127, "poly on", Standing.CHANNEL_MODE),
    ],
)
def test_table(number: int, name: str, standing: Standing) -> None:
    """Name and standing of numbers from every part of the table."""
    assert (CONTROLLERS[number].name, CONTROLLERS[number].standing) == (name, standing)


def test_ninety_six_numbers_are_free() -> None:
    """120 controllers less 20 that are reserved and 4 fine halves; none of them is one that a stop must not move."""
    free = free_controllers()
    kept = {0, 1, 6, 7, 10, 11, 32, 33, 38, 39, 42, 43, *range(64, 70), *range(96, 102), *range(120, 128)}
    assert len(free) == 96
    assert set(free) == set(range(128)) - kept
    assert EXPRESSION not in free
    assert set(GENERAL_PURPOSE) < set(free)


def test_undefined_numbers_come_first() -> None:
    """The order is undefined, general purpose, defined, so that few tabs trouble no receiver."""
    free = free_controllers(avoid={3})
    assert free[:4] == (9, 14, 15, 20)
    standings = [CONTROLLERS[number].standing for number in free]
    assert standings == sorted(standings, key=[Standing.UNDEFINED, Standing.GENERAL, Standing.DEFINED].index)
