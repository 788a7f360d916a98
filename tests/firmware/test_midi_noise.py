"""Noise on MIDI in under the sanitizers: `python -m tests.firmware.fuzz_midi_in` throws a million bytes."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.firmware.build import HOST_COMPILERS
from tests.firmware.fuzz_midi_in import COVERED_BYTES, build_noise, coverage, fuzz


@pytest.mark.parametrize("compiler", [name for name, _ in HOST_COMPILERS])
def test_noise_meets_no_fault(tmp_path: Path, compiler: str) -> None:
    """Fifty thousand bytes, half of them noise: every byte is taken, nothing is read astray, the end state is true."""
    met = fuzz(build_noise(tmp_path, compiler), 50_000, seed=1)
    assert met.bytes_in >= 50_000
    assert min(met.ignored, met.broken) > 1000
    assert met.bytes_out > 1000


def test_noise_reaches_what_takes_midi_in(tmp_path: Path) -> None:
    """Nine lines of ten of every file that takes MIDI in are run by the noise; gcov says which are not."""
    for file in coverage(tmp_path, COVERED_BYTES, seed=1):
        assert file.lines >= 0.9 * file.lines_all, file.line()
