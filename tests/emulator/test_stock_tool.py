"""The sketch folder opens and builds with the stock tool, by its own steps."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.emulator.build import build_with_stock_tool
from tests.emulator.demos import DEMOS, copy_sketch, demo
from tests.emulator.harness import run
from tests.emulator.midi_stream import decode

pytestmark = pytest.mark.emulator


@pytest.mark.parametrize("name", DEMOS)
def test_the_stock_tool_builds_an_image_that_behaves_alike(name: str, tmp_path: Path) -> None:
    """arduino-builder's image silences and reports exactly as the one built with the plain compiler."""
    image = build_with_stock_tool(copy_sketch(name, tmp_path), tmp_path / "work")
    stage, until_ms = demo(name).stage, demo(name).listening_us / 1000
    by_tool, plain = (run(stage.scenario(hex_file, until_ms)) for hex_file in (image, demo(name).image.hex))
    assert [message.data for message in decode(by_tool.midi).messages] == [m.data for m in decode(plain.midi).messages]
    assert len(by_tool.sent) > 20
