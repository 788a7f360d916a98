"""The bench of the diagnosis."""

from __future__ import annotations

import pytest

from tests.proving.diagnosis import bench


def test_the_bench_measures_what_it_names() -> None:
    """A turned plug on 61 keys is named in the diagnosis that is timed, and both times are more than nothing."""
    (chain, _), _ = bench.consoles()
    figure = bench.measure(chain, ("turn connector J3",), times=1)
    assert (figure.words, figure.named) == ("chain", 1)
    assert min(figure.first_ms, figure.last_ms) > 0.0


def test_the_bench_prints_a_line_for_each_console_with_faults(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Every line tells the console, what was put in, both times and how many causes were named."""
    monkeypatch.setattr(bench, "CHAIN", ((), ("dead contact great.50", "stuck contact great.60")))
    monkeypatch.setattr(bench, "MATRIX", ())
    monkeypatch.setattr(bench, "TIMES", 1)
    assert bench.main() == 0
    sound, faulty = capsys.readouterr().out.splitlines()
    assert sound.startswith("chain   sound ")
    assert "dead contact great.50 + stuck contact great.60" in faulty
    assert faulty.endswith(" named")
