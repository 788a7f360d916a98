"""Hum that a computer's lead brings, against the worked example and plain arithmetic."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from retrofit.circuits.hum import judge_hum, leak_amps, level_db, loop_amps, shared_volts
from retrofit.circuits.result import Span
from retrofit.circuits.sense.design import Verdict


def test_the_worked_two_wire_adaptor() -> None:
    """Ex 14: 2.2 nF leak 0.159 mA at 230 V 50 Hz and 0.0995 mA at 120 V 60 Hz; 0.2 Ω make 31.8 µV, −70 dB of 100 mV."""
    amps = leak_amps(230, 50, 2.2e-9)
    assert round(1e3 * amps, 3) == 0.159
    assert round(1e3 * leak_amps(120, 60, 2.2e-9), 4) == 0.0995
    assert round(1e6 * shared_volts(amps, 0.2), 1) == 31.8
    assert round(level_db(shared_volts(amps, 0.2), 0.1)) == -70


def test_the_worked_earth_loop() -> None:
    """Ex 14: 10 mV round 0.5 Ω are 20 mA; 0.05 Ω shared make 1 mV, −40 dB, which is heard."""
    amps = loop_amps(10e-3, 0.5)
    assert amps == pytest.approx(20e-3)
    assert shared_volts(amps, 0.05) == pytest.approx(1e-3)
    judged = judge_hum(amps, Span.exact(0.05), 0.1, how="round the earth loop")
    assert judged.result is not None
    assert round(judged.result.value) == -40
    assert judged.verdict is Verdict.FAILS


def test_the_worked_barrier() -> None:
    """Ex 14: 20 pF at 115 V 50 Hz leak 0.72 µA; 0.2 Ω make 0.145 µV, −117 dB."""
    amps = leak_amps(115, 50, 20e-12)
    assert round(1e6 * amps, 2) == 0.72
    assert 1e6 * shared_volts(amps, 0.2) == pytest.approx(0.145, abs=0.0006)
    judged = judge_hum(amps, Span.exact(0.2), 0.1, how="across the barrier")
    assert judged.result is not None
    assert round(judged.result.value) == -117
    assert judged.verdict is Verdict.GOOD


def test_hum_is_narrow_before_it_fails() -> None:
    """−70 dB and less is good, up to −60 dB narrow (common practice, no source)."""
    verdicts = [judge_hum(amps, Span.exact(1.0), 1.0, how="by test").verdict for amps in (3e-4, 5e-4, 2e-3)]
    assert verdicts == [Verdict.GOOD, Verdict.NARROW, Verdict.FAILS]


def test_an_unmeasured_return_is_unknown() -> None:
    """Without the shared resistance there is no level."""
    judged = judge_hum(1e-3, None, 0.1, how="by test")
    assert judged.verdict is Verdict.UNKNOWN
    assert "share" in judged.missing


@given(st.floats(1e-6, 1e-1), st.floats(0.01, 1), st.floats(1, 10))
def test_a_wider_return_is_never_quieter(amps: float, ohms: float, factor: float) -> None:
    """The greatest shared resistance decides."""
    narrow = judge_hum(amps, Span(ohms, ohms), 0.1, how="by test").result
    wide = judge_hum(amps, Span(ohms / factor, ohms * factor), 0.1, how="by test").result
    assert narrow is not None
    assert wide is not None
    assert wide.value >= narrow.value
