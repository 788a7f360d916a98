"""Current in the common: volts dropped, the count, and what it cannot tell."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from retrofit.circuits.eseries_values import Series, nearest
from retrofit.circuits.sense.current_sense import HALL_OHMS, CurrentSensor, design
from retrofit.circuits.sense.design import Felt, Verdict
from tests.circuits.sense_cases import MAGNET_LINE, REGISTER_INPUT, judged, without
from tests.circuits.spice import run_netlist

TEN_LINES = replace(MAGNET_LINE, lines_at_once=10)
WHOLE_COMMON = """* ten magnets of 60 mA behind a shunt in their common
Vorgan supply 0 DC {supply}
Rmagnets supply common {load}
Rshunt common 0 {shunt}
.control
op
print v(common)
.endc
.end
"""


def test_the_shunt_against_ngspice(tmp_path: Path) -> None:
    """The volts dropped by ten lines are those of ngspice within 1 %, and within 1 % of the organ's volts."""
    found = design(TEN_LINES, REGISTER_INPUT, amps_tolerance=0.02, step_volts_least=1e-3)
    shunt = found.parts[0].value
    dropped = judged(found, "volts dropped in the common").result
    assert dropped is not None
    netlist = WHOLE_COMMON.format(supply=10.5, load=10.5 / 0.6, shunt=1.05 * shunt)
    assert dropped.value == pytest.approx(run_netlist(tmp_path, netlist)[0]["v(common)"], rel=0.01)
    assert 0 < dropped.value <= 0.105 == pytest.approx(dropped.limit)
    assert nearest(Series.E24, shunt) == shunt


def test_a_count_does_not_name_lines() -> None:
    """Of several lines it tells how many, so it is refused for reading keys; one line alone is read."""
    many, one = (design(line, REGISTER_INPUT, amps_tolerance=0.02) for line in (TEN_LINES, MAGNET_LINE))
    assert "not which" in many.refusals[0]
    assert one.refusals == ()


@pytest.mark.parametrize(
    ("tolerance", "verdict"), [(0.04, Verdict.GOOD), (0.06, Verdict.FAILS), (None, Verdict.UNKNOWN)]
)
def test_the_count_wants_even_lines(tolerance: float | None, verdict: Verdict) -> None:
    """Ten lines 4 % off count rightly, 6 % off may be wrong by one, and unknown stays unknown."""
    found = design(TEN_LINES, REGISTER_INPUT, amps_tolerance=tolerance)
    assert judged(found, "error of the count").verdict is verdict


def test_the_line_itself_feels_nothing() -> None:
    """Neither sensor touches a line; only the Hall sensor leaves the common closed."""
    shunt, hall = (design(TEN_LINES, REGISTER_INPUT, sensor=sensor) for sensor in CurrentSensor)
    assert shunt.felt == hall.felt == Felt(0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
    assert (shunt.looks_only, hall.looks_only) == (False, True)
    assert any("opened" in remark for remark in shunt.remarks)


def test_a_hall_sensor_drops_almost_nothing() -> None:
    """Its conductor drops its resistance times the current, and its step is judged by its own sensitivity."""
    found = design(
        TEN_LINES, REGISTER_INPUT, sensor=CurrentSensor.HALL, hall_volts_per_amp=0.185, step_volts_least=5e-3
    )
    dropped, step = (
        judged(found, name).result for name in ("volts dropped in the common", "change of volts for one line")
    )
    assert dropped is not None
    assert step is not None
    assert dropped.value == pytest.approx(HALL_OHMS * 1.05 * 0.6)
    assert step.value == pytest.approx(0.06 * 0.185 * 0.95)


def test_unknown_currents_give_no_shunt() -> None:
    """Without the current of a line nothing is chosen, and the figures say what is missing."""
    found = design(without(TEN_LINES, "keyed_amps"), REGISTER_INPUT)
    assert found.parts == ()
    for name in ("volts dropped in the common", "change of volts for one line", "heat in the shunt"):
        assert judged(found, name).verdict is Verdict.UNKNOWN
        assert judged(found, name).missing


def test_sound_is_refused() -> None:
    """A common of contacts that carry sound is refused."""
    assert "sound" in design(replace(MAGNET_LINE, carries_audio=True), REGISTER_INPUT).refusals[0]
