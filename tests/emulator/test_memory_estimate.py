"""The firmware's estimated memory against images that the compiler made."""

from __future__ import annotations

from pathlib import Path

import pytest

from retrofit.firmware.sketch import write_sketch
from retrofit.plan.topologies.compare import WISHED
from tests.emulator.build import build_sketch
from tests.plan.jobs import GREAT, HEAD, OURS, job_of, keys, plan_of, stops
from tests.plan.topologies.consoles import compared

pytestmark = pytest.mark.emulator

RAIL = stops(", ".join(f'{{ id = "s{n}" }}' for n in range(40))) + OURS
CHAIN = '[groups.wanted]\ninterface = "chain"\n'
CONSOLES = {
    "one manual": HEAD + GREAT + keys(61) + OURS + CHAIN,
    "manual and rail": HEAD + GREAT + keys(61) + OURS + CHAIN + RAIL + CHAIN,
}


@pytest.mark.parametrize("name", CONSOLES)
def test_the_estimate_is_a_little_too_large(name: str, tmp_path: Path) -> None:
    """`avr-size` finds no more than was estimated, and at least 85 % of it; neither console was fitted to."""
    text = CONSOLES[name]
    folder = write_sketch(plan_of(text), tmp_path / "sketch").folder
    image = build_sketch(folder)
    wished = next(whole for whole in compared(job_of(text)).whole if whole.name == WISHED)
    (board,) = wished.boards
    assert 0.85 * board.memory.ram <= image.ram <= board.memory.ram
    assert 0.85 * board.memory.flash <= image.flash <= board.memory.flash
