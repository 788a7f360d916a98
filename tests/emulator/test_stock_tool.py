"""The sketch folder opens and builds with the stock tool, by its own steps."""

from __future__ import annotations

from pathlib import Path

import pytest

from retrofit.firmware.sketch import write_sketch
from tests.emulator.build import build_with_stock_tool
from tests.emulator.demos import DEMOS, console, copy_sketch, demo
from tests.emulator.harness import run
from tests.emulator.midi_stream import decode
from tests.emulator.usb_console import small_job

pytestmark = pytest.mark.emulator


@pytest.mark.parametrize("name", DEMOS)
def test_the_stock_tool_builds_an_image_that_behaves_alike(name: str, tmp_path: Path) -> None:
    """arduino-builder's image silences and reports exactly as the one built with the plain compiler."""
    image = build_with_stock_tool(copy_sketch(name, tmp_path), tmp_path / "work")
    stage, until_ms = demo(name).stage, demo(name).listening_us / 1000
    by_tool, plain = (run(stage.scenario(hex_file, until_ms)) for hex_file in (image, demo(name).image.hex))
    assert [message.data for message in decode(by_tool.midi).messages] == [m.data for m in decode(plain.midi).messages]
    assert len(by_tool.sent) > 20


def test_the_stock_tool_builds_the_board_with_its_own_usb(tmp_path: Path) -> None:
    """For the ATmega32U4 the stock core alone brings everything, and the image enumerates and reports by USB alike."""
    small = console(small_job("gutted_home"))
    sketch = write_sketch(small.plan, tmp_path / "sketch").folder
    image = build_with_stock_tool(sketch, tmp_path / "work", small.plan.board)
    by_tool, plain = (
        run(small.stage.scenario(hex_file, small.listening_us / 1000 + 400)).usb
        for hex_file in (image, small.image.hex)
    )
    assert by_tool is not None
    assert plain is not None
    assert by_tool.answers[-1].request == plain.answers[-1].request
    assert [packet for _, _, packet in by_tool.packets] == [packet for _, _, packet in plain.packets]
    assert len(by_tool.packets) > 20
