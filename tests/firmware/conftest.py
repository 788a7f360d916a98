"""Consoles that the firmware tests share."""

from __future__ import annotations

import pytest

from tests.firmware.build import SAMPLE
from tests.firmware.console import Console, build_console


@pytest.fixture(scope="session")
def sample_library(tmp_path_factory: pytest.TempPathFactory) -> Console:
    """The hand-written sample console, compiled once."""
    text = (SAMPLE / "console_table.h").read_text(encoding="utf-8")
    return build_console(tmp_path_factory.mktemp("sample"), text)


@pytest.fixture
def sample(sample_library: Console) -> Console:
    """The sample console, just switched on."""
    sample_library.switch_on()
    return sample_library
