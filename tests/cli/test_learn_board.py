"""`retrofit learn --board` against the firmware's own core behind a real port: wires on unused inputs are seen."""

from __future__ import annotations

import time
import tomllib
from pathlib import Path

import pytest

from retrofit.cli.output import Exit
from tests.cli.conftest import Command, written
from tests.cli.test_board import planned
from tests.cli.test_rehearse import THREE_KEYS
from tests.firmware.console import Console
from tests.link.core_board import CoreBoard, compile_core
from tests.link.pseudo_terminal import on_a_port

WIRED = {
    "great.36": "chain register 0 bit 5",
    "great.37": "chain register 0 bit 0",
    "great.38": "chain register 0 bit 7",
}
"""Where the wires really lie: the first and the last on inputs that no point has."""
BEGIN_S, PACE_S, HELD_S = 3.0, 0.8, 0.4


class Player:
    """Presses the three keys once each, in order, by the clock on the wall; a closed contact is low."""

    def __init__(self) -> None:
        self._begun_s: float | None = None

    def __call__(self, console: Console, _: int) -> None:
        """Put every contact where it is now."""
        now_s = time.monotonic()
        self._begun_s = now_s if self._begun_s is None else self._begun_s
        key, since_s = divmod(now_s - self._begun_s - BEGIN_S, PACE_S)
        bits = [int(place[-1]) for place in WIRED.values()]
        pressed = 0 <= key < len(bits) and since_s < HELD_S
        console.registers[0] = 0xFF & ~(1 << bits[int(key)]) if pressed else 0xFF


@pytest.fixture
def three_keys(tmp_path: Path) -> Path:
    """Return the job file of three keys."""
    return written(tmp_path / "three.toml", THREE_KEYS)


def test_wires_on_unused_inputs_are_learned_over_the_link(
    retrofit: Command, three_keys: Path, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """Over MIDI two of the three keys would be silent; the link shows them, and the job gets their addresses."""
    plan = planned(three_keys)
    assert len(set(WIRED.values()) & set(plan.layout.spare)) == 2
    board = CoreBoard(compile_core(plan, tmp_path_factory.mktemp("core")), Player())
    with on_a_port(board) as port:
        ended = retrofit("learn", three_keys, "great", "--board", port, "--yes", "--yes-isolated")
    assert ended.code == Exit.OK, ended.err
    assert tomllib.loads(three_keys.read_text(encoding="utf-8"))["addresses"] == WIRED
