"""Contacts of ours with pull-up and pull-down: worked examples, ngspice, refusals and what the line feels."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import product
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from retrofit.circuits.quantity import quantity
from retrofit.circuits.result import Span
from retrofit.circuits.sense import pull_down, pull_up
from retrofit.circuits.sense.design import SenseDesign, Verdict
from retrofit.circuits.sense.line import Line
from retrofit.circuits.sense.logic_input import LogicInput
from retrofit.circuits.sense.our_contact import rc_us
from retrofit.circuits.sense.pull_up import EdgeFilter
from tests.circuits.sense_cases import CATALOGUE, MAGNET_LINE, OUR_LINE, REGISTER_INPUT, judged, logic_at
from tests.circuits.spice import run_netlist

LOGIC = logic_at(Span.exact(3.3), vil=0.3, vih=0.7, leakage_a=5e-6)
SILVER = CATALOGUE.contacts["silver-leaf"]
STUD_FILTER = EdgeFilter(Span.exact(1e3), Span.exact(100e-9))

PULL_UP_LEVEL = """* closed contact below a pull-up, input leaking upwards
Vdd vdd 0 DC {supply}
Rpull vdd in {pull}
Rseries in c {series}
Rcontact c 0 {contact}
Ileak 0 in DC {leakage}
.control
op
print v(in)
.endc
.end
"""
PULL_DOWN_LEVEL = """* closed contact above a pull-down, input leaking downwards
Vdd vdd 0 DC {supply}
Rcontact vdd c {contact}
Rseries c in {series}
Rpull in 0 {pull}
Ileak in 0 DC {leakage}
.control
op
print v(in)
.endc
.end
"""
# The switch is a resistor of 1 milliohm or 1 gigaohm; the pull-up stands at the contact or at the input.
EDGES = """* contact that opens or closes at 1 ms, filter before the input
Vdd vdd 0 DC 3.3
Rpull vdd {pulled} {pull}
Rseries c in 1k
Cfilter in 0 100.01n
Scontact c 0 gate 0 contact
Vgate gate 0 PWL({gate})
.model contact SW(VT=0.5 VH=0 RON=1m ROFF=1G)
.tran 2u 30m
.control
run
meas tran crossed when v(in)={threshold} {edge}=1
.endc
.end
"""
OPENS, CLOSES = "0 1 1m 1 1.001m 0", "0 0 1m 0 1.001m 1"


def test_worked_bus() -> None:
    """Ex 6: 0.33 mA a key, 4286 Ω tolerated, 0.05 V dropped by 5 µA, 2.29 µs to 0.7 VDD with 190 pF, all nominal."""
    found = pull_up.design(OUR_LINE, LOGIC, contact=SILVER, pull_up=Span.exact(10e3), cable_pf=180.0)
    current, largest = (
        judged(found, name).result for name in ("current that wets the contact", "largest contact resistance read")
    )
    high = judged(found, "high level at the input").result
    assert current is not None
    assert largest is not None
    assert high is not None
    assert round(current.value, 2) == 0.33
    assert round(largest.value) == 4286
    assert round(3.3 * (1 - 0.7 - high.value / 100), 2) == 0.05
    assert round(found.release_delay_us, 2) == 2.29
    assert found.felt.on_ua is not None
    assert found.felt.on_ua == pytest.approx(-330)
    assert round(61 * -found.felt.on_ua / 1e3, 1) == 20.1
    assert found.verdict is Verdict.GOOD


@pytest.mark.parametrize(("ohms", "rise_ms"), [(20e3, 2.53), (50e3, 6.14), (10e3, 1.32), (4.7e3, 0.686)])
def test_worked_toe_stud(ohms: float, rise_ms: float) -> None:
    """Ex 16: 1 kΩ and 100 nF rise to 0.7 VDD in 2.53 and 6.14 ms (20 and 50 kΩ), 1.32 ms (10 kΩ), 0.686 ms (4.7 kΩ)."""
    found = pull_up.design(OUR_LINE, LOGIC, pull_up=Span.exact(ohms), edge_filter=STUD_FILTER)
    assert found.release_delay_us / 1e3 == pytest.approx(rise_ms, abs=0.005)


def test_worked_toe_stud_falls() -> None:
    """Ex 16: with 10 kΩ the level falls to 0.3 VDD in 0.134 ms and 3286 Ω of contact are tolerated."""
    found = pull_up.design(OUR_LINE, LOGIC, pull_up=Span.exact(10e3), edge_filter=STUD_FILTER)
    largest = judged(found, "largest contact resistance read").result
    assert largest is not None
    assert round(found.press_delay_us / 1e3, 3) == 0.134
    assert round(largest.value) == 3286
    assert {part.kind for part in found.parts} == {"resistor", "capacitor"}


@pytest.mark.parametrize(("pulled", "share"), [("c", 1.0), ("in", 0.837)])
def test_rise_against_ngspice(tmp_path: Path, pulled: str, share: float) -> None:
    """The rise is ngspice's within 1 % with the pull-up at the contact; at the input, from 0.3 V, less."""
    found = pull_up.design(OUR_LINE, LOGIC, pull_up=Span.exact(10e3), edge_filter=STUD_FILTER)
    netlist = EDGES.format(pulled=pulled, pull="10k", gate=OPENS, threshold=0.7 * 3.3, edge="rise")
    simulated_us = 1e6 * run_netlist(tmp_path, netlist)[0]["crossed"] - 1000
    assert simulated_us == pytest.approx(share * found.release_delay_us, rel=0.01)


def test_fall_against_ngspice(tmp_path: Path) -> None:
    """The fall through the filter is ngspice's within 1 %."""
    found = pull_up.design(OUR_LINE, LOGIC, pull_up=Span.exact(10e3), edge_filter=STUD_FILTER)
    netlist = EDGES.format(pulled="in", pull="10k", gate=CLOSES, threshold=0.3 * 3.3, edge="fall")
    simulated_us = 1e6 * run_netlist(tmp_path, netlist)[0]["crossed"] - 1000
    assert found.press_delay_us == pytest.approx(simulated_us, rel=0.01)


def _corner_words(pull: str, supply: float, ohms: float, series: float, contact: float) -> str:
    """Return a corner of a contact of ours in words."""
    told = {pull: (ohms, "Ω"), "series": (series, "Ω"), "contact": (contact, "Ω")}
    return f"supply {supply:g} V, " + ", ".join(f"{name} {quantity(*figure)}" for name, figure in told.items())


def test_pull_up_corner_against_ngspice(tmp_path: Path) -> None:
    """Of all corners ngspice finds the least margin of a closed contact where we do, and the same level within 1 %."""
    supply, pull, series, contact = Span(3.0, 3.6), Span(9.5e3, 10.5e3), Span(95, 105), Span(0.1, 1000)
    margins = {}
    for corner in product(*((span.least, span.greatest) for span in (supply, pull, series, contact))):
        names = dict(zip(("supply", "pull", "series", "contact"), corner, strict=True))
        level = run_netlist(tmp_path, PULL_UP_LEVEL.format(**names, leakage=0))[0]["v(in)"]
        margins[corner] = 100 * (0.8 - level) / names["supply"]
    logic = replace(logic_at(supply, vil=0, vih=0.7), vil=lambda _volts: 0.8)
    line = replace(OUR_LINE, keyed_ohms=contact)
    found = judged(
        pull_up.design(line, logic, pull_up=pull, edge_filter=EdgeFilter(series, Span(90e-9, 110e-9))),
        "low level at the input",
    ).result
    assert found is not None
    worst = min(margins, key=margins.__getitem__)
    assert found.value == pytest.approx(margins[worst], rel=0.01)
    assert found.corner == _corner_words("pull up", *worst)


def test_pull_down_corner_against_ngspice(tmp_path: Path) -> None:
    """Of all corners ngspice finds the least high level where we do, leakage included, within 1 %."""
    supply, pull, series, contact = Span(3.0, 3.6), Span.around(10e3, 0.05), Span(95, 105), Span(0.1, 1000)
    margins = {}
    for corner in product(*((span.least, span.greatest) for span in (supply, pull, series, contact))):
        names = dict(zip(("supply", "pull", "series", "contact"), corner, strict=True))
        level = run_netlist(tmp_path, PULL_DOWN_LEVEL.format(**names, leakage=5e-6))[0]["v(in)"]
        margins[corner] = 100 * (level - 0.7 * names["supply"]) / names["supply"]
    logic = logic_at(supply, vil=0.3, vih=0.7, leakage_a=5e-6)
    line = replace(OUR_LINE, keyed_ohms=contact)
    found = judged(pull_down.design(line, logic, series_ohms=series), "high level at the input").result
    assert found is not None
    worst = min(margins, key=margins.__getitem__)
    assert found.value == pytest.approx(margins[worst], rel=0.01)
    assert found.corner == _corner_words("pull down", *worst)


def test_emitter_resistor_of_the_application_note() -> None:
    """Vishay application note 02, example 1: 1.6 mA out of an input stay below 0.8 V up to 500 Ω."""
    logic = replace(logic_at(Span.exact(5.0), vil=0, vih=0.4, leakage_a=1.6e-3), vil=lambda _volts: 0.8)
    found = pull_down.design(OUR_LINE, logic, pull_down_ohms=500 / (1 + pull_down.PULL_DOWN_TOLERANCE))
    low = judged(found, "low level at the input").result
    assert low is not None
    assert low.value == pytest.approx(0.0, abs=1e-9)


def test_pull_down_reads_high_and_tolerates_a_contact() -> None:
    """On the register at 5 V a pull-down of 10 kΩ is read high, wets silver and tolerates an old contact."""
    line = replace(OUR_LINE, keyed_ohms=Span(0.0, 100.0))
    found = pull_down.design(line, REGISTER_INPUT, contact=SILVER, cable_pf=180.0)
    assert found.verdict is Verdict.GOOD
    assert found.keyed_reads_high is True
    assert 0 < found.press_delay_us < found.release_delay_us
    assert found.felt.shorted_ua is None  # a short behind a contact of 0 Ω has no limit


@given(st.floats(1, 6), st.floats(1e3, 1e5), st.floats(0, 1e3), st.floats(0.2, 0.9), st.floats(0, 1e-5))
def test_the_largest_contact_is_just_read_high(
    supply: float, pull: float, series: float, share: float, leakage: float
) -> None:
    """A contact of the largest resistance lies exactly at the limit: the two formulas undo each other."""
    largest = pull_down.largest_contact_ohms(supply, pull, series, share * supply, leakage)
    assert pull_down.high_volts(supply, pull, series, largest, leakage) == pytest.approx(share * supply)


@pytest.mark.parametrize("design", [pull_up.design, pull_down.design])
def test_a_line_of_the_organ_is_never_fed(design: Callable[[Line, LogicInput], SenseDesign]) -> None:
    """Both circuits refuse a line of the organ, a line of ours that still carries volts, and one that carries sound."""
    fed = replace(OUR_LINE, keyed_volts=Span(11.0, 13.0))
    sounding = replace(OUR_LINE, carries_audio=True)
    assert "the organ's" in design(MAGNET_LINE, REGISTER_INPUT).refusals[0]
    assert "13 V" in design(fed, REGISTER_INPUT).refusals[0]
    assert "sound" in design(sounding, REGISTER_INPUT).refusals[0]
    assert design(OUR_LINE, REGISTER_INPUT).refusals == ()


def test_what_the_delays_leave_out_is_said() -> None:
    """Without cable and input capacitance both are named; with both nothing is."""
    bare = replace(REGISTER_INPUT, capacitance_pf=None)
    assert len(pull_up.design(OUR_LINE, bare).remarks) == 2
    assert pull_up.design(OUR_LINE, REGISTER_INPUT, cable_pf=100.0).remarks == ()


def test_an_unmeasured_contact_is_assumed_aloud() -> None:
    """Without a contact resistance the one that must be tolerated is taken, and said."""
    line = replace(OUR_LINE, keyed_ohms=None)
    for found in (pull_up.design(line, REGISTER_INPUT), pull_down.design(line, REGISTER_INPUT)):
        result = judged(found, "current that wets the contact").result
        assert result is not None
        assert result.assumptions == ("the closed contact is taken as 1 kΩ",)


def test_an_edge_that_never_comes_is_endless() -> None:
    """A threshold beyond the settled level is never reached."""
    assert rc_us(1e3, 1e-9, 0.0, 3.0, 3.5) == float("inf")
