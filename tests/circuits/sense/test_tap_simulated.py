"""Taps against a circuit simulator (ngspice), from netlists written by hand with diode models for the clamps.

The diode models are a 1N4148 as often published and a small junction inside a logic input, both from memory; the
simulator brings knee and temperature, of which the formulas under test know nothing.
"""

from __future__ import annotations

from itertools import product
from pathlib import Path

import pytest

from retrofit.circuits.quantity import quantity
from retrofit.circuits.result import Span
from retrofit.circuits.sense.dead_rail import dead_line_amps, dead_rail_volts
from retrofit.circuits.sense.swing import State
from retrofit.circuits.sense.tap_design import edge_us
from retrofit.circuits.sense.tap_network import (
    CLAMP_CONDUCTS_VOLTS,
    level_margin,
    level_span,
    worst_injection,
    worst_line_amps,
)
from tests.circuits.sense.taps import SCHMITT_3V3, line, network, swing
from tests.circuits.spice import run_netlist

MODELS = (
    ".model fitted d(is=2.52n rs=0.568 n=1.752 cjo=4p tt=20n eg=1.11 xti=3)\n"
    ".model inside d(is=1e-14 rs=10 n=1.05 cjo=2p eg=1.11 xti=3)\n"
)
EXACT = ".options reltol=1e-6 abstol=1e-15 gmin=1e-15 temp={celsius}\n"
DIODES, CELSIUS = ("fitted", "inside"), (-10, 27, 70)
EVERY_CLAMP = pytest.mark.parametrize(("diode", "celsius"), list(product(DIODES, CELSIUS)))


def simulate(folder: Path, netlist: str, *, celsius: float, control: str) -> dict[str, float]:
    """Return what ngspice prints for a netlist at a temperature, by the names that it prints."""
    text = f"tap\n{netlist}{MODELS}{EXACT.format(celsius=celsius)}.control\n{control}\n.endc\n.end\n"
    (found,) = run_netlist(folder, text)
    return found


def clamped_tap(name: str, volts: float, series: float, lower: float, *, diode: str, far_end: str = "0") -> str:
    """Return one tap: line, two resistors, a diode to the rail `vdd` and one from ground; currents by their sources."""
    return (
        f"vl{name} l{name} 0 {volts}\nr1{name} l{name} n{name} {series}\nr2{name} n{name} {far_end} {lower}\n"
        f"vu{name} u{name} vdd 0\nd1{name} n{name} u{name} {diode}\n"
        f"vg{name} 0 g{name} 0\nd2{name} g{name} n{name} {diode}\n"
    )


def corners_of(series: float, lower: float, volts: tuple[float, ...]) -> list[tuple[float, float, float]]:
    """Return every corner of line volts and two resistors of 1 %."""
    return [(at, series * a, lower * b) for at, a, b in product(volts, (0.99, 1.01), (0.99, 1.01))]


@pytest.mark.parametrize(
    ("volts", "series", "lower", "reference"),
    [((1.5, 10.5), 470e3, 180e3, 0.0), ((-15.0, -14.0, 0.0), 1e6, 200e3, 3.3), ((0.5, 9.0), 1e6, 430e3, 0.0)],
    ids=["divider", "offset divider", "lighter divider"],
)
def test_open_levels_at_every_corner(
    tmp_path: Path, volts: tuple[float, ...], series: float, lower: float, reference: float
) -> None:
    """With clamps that do not conduct the levels agree within 1 %, and the same corners are lowest and highest."""
    corners = corners_of(series, lower, volts)
    netlist = f"vdd vdd 0 3.3\nvf far 0 {reference}\n" + "".join(
        clamped_tap(str(i), *corner, diode="inside", far_end="far") for i, corner in enumerate(corners)
    )
    found = simulate(
        tmp_path, netlist, celsius=27, control="op\n" + "\n".join(f"print v(n{i})" for i in range(len(corners)))
    )
    levels = {corner: found[f"v(n{i})"] for i, corner in enumerate(corners)}
    tap = network(series, lower, reference=Span.exact(reference))
    for at in volts:
        ours = level_span(tap, State("any", Span.exact(at), Span.exact(0.0)))
        simulated = [level for corner, level in levels.items() if corner[0] == at]
        assert (min(simulated), max(simulated)) == pytest.approx((ours.least, ours.greatest), rel=0.01, abs=1e-3)
    for high, pick in ((True, min), (False, max)):
        at = max(volts) if high else min(volts)
        margin = level_margin(tap, State("any", Span.exact(at), Span.exact(0.0)), high=high)
        assert margin is not None
        theirs = pick((corner for corner in corners if corner[0] == at), key=lambda corner: levels[corner])
        assert f"series {quantity(theirs[1], 'Ω')}, lower {quantity(theirs[2], 'Ω')}" in margin[1]


def _corner_words(line: float, series: float, lower: float) -> str:
    """Return a corner of a divider in words."""
    return f"line {quantity(line, 'V')}, series {quantity(series, 'Ω')}, lower {quantity(lower, 'Ω')}"


@EVERY_CLAMP
def test_clamp_and_line_currents_are_bounded(tmp_path: Path, diode: str, celsius: int) -> None:
    """At every corner and temperature no clamp injects and no line gives more than stated; the same corner is worst."""
    corners = corners_of(470e3, 180e3, (10.5, 15.5))
    netlist = "vdd vdd 0 3.3\n" + "".join(clamped_tap(str(i), *corner, diode=diode) for i, corner in enumerate(corners))
    wanted = "\n".join(f"print i(vu{i}) i(vl{i})" for i in range(len(corners)))
    found = simulate(tmp_path, netlist, celsius=celsius, control=f"op\n{wanted}")
    injected = {corner: found[f"i(vu{i})"] for i, corner in enumerate(corners)}
    taken = {corner: -found[f"i(vl{i})"] for i, corner in enumerate(corners)}
    tap = network(470e3, 180e3)
    ours, our_corner = worst_injection(tap, Span(10.5, 15.5), above=True)
    assert 0.4 * ours < max(injected.values()) <= ours
    worst = max(corners, key=lambda corner: injected[corner])
    assert _corner_words(*worst) in our_corner
    amps, our_corner = worst_line_amps(tap, Span(10.5, 15.5), Span.exact(0.0))
    assert 0.93 * amps < max(taken.values()) <= amps
    worst = max(corners, key=lambda corner: taken[corner])
    assert f"line {quantity(worst[0], 'V')}, series {quantity(worst[1], 'Ω')}" in our_corner


@EVERY_CLAMP
def test_the_lower_clamp_of_an_offset_divider_is_bounded(tmp_path: Path, diode: str, celsius: int) -> None:
    """At −18 V to −30 V what the diode from ground gives is never more than stated."""
    corners = corners_of(1e6, 200e3, (-30.0, -18.0))
    netlist = "vdd vdd 0 3.3\n" + "".join(
        clamped_tap(str(i), *corner, diode=diode, far_end="vdd") for i, corner in enumerate(corners)
    )
    wanted = "\n".join(f"print i(vg{i})" for i in range(len(corners)))
    found = simulate(tmp_path, netlist, celsius=celsius, control=f"op\n{wanted}")
    given = [found[f"i(vg{i})"] for i in range(len(corners))]
    ours, _ = worst_injection(network(1e6, 200e3, reference=Span.exact(3.3)), Span(-30.0, 0.0), above=False)
    assert 0.7 * ours < max(given) <= ours


@EVERY_CLAMP
def test_a_dead_rail_is_bounded(tmp_path: Path, diode: str, celsius: int) -> None:
    """61 held lines at 15.5 V into 220 Ω and 1 kΩ: the rail never stands higher than stated, which is a bound."""
    taps = "".join(clamped_tap(str(i), 15.5, 465.3e3, 181.8e3, diode=diode) for i in range(61))
    total = 61 * dead_line_amps(15.5, 465.3e3)
    for ohms, share in ((220.0, 0.75), (1e3, 0.5)):
        found = simulate(tmp_path, f"rb vdd 0 {ohms}\n{taps}", celsius=celsius, control="op\nprint v(vdd)")
        ours = dead_rail_volts(total, ohms)
        assert share * ours < found["v(vdd)"] <= ours
    off, _ = worst_line_amps(network(470e3, 180e3), Span(10.5, 15.5), Span.exact(0.0), powered=False)
    assert off >= dead_line_amps(15.5, 465.3e3)


@EVERY_CLAMP
def test_a_kick_is_bounded(tmp_path: Path, diode: str, celsius: int) -> None:
    """A kick of 400 V of either sign through 940 kΩ: the clamps carry what is stated, within 1 %."""
    kicks = (-400.0, 415.5)
    netlist = "vdd vdd 0 3.3\n" + "".join(
        clamped_tap(str(i), volts, 0.99 * 940e3, 1.01 * 390e3, diode=diode) for i, volts in enumerate(kicks)
    )
    found = simulate(tmp_path, netlist, celsius=celsius, control="op\nprint i(vg0) i(vu1)")
    tap = network(940e3, 390e3)
    for name, above in (("i(vg0)", False), ("i(vu1)", True)):
        ours, _ = worst_injection(tap, Span(*kicks), above=above)
        assert 0.99 * ours < found[name] <= ours


@pytest.mark.parametrize("celsius", [27, 70])
def test_up_to_the_named_volts_a_clamp_hardly_conducts(tmp_path: Path, celsius: int) -> None:
    """A junction inside an input carries less than a microampere at the volts from which a line is called negative."""
    netlist = f"v1 a 0 {CLAMP_CONDUCTS_VOLTS}\nd1 a 0 inside\nvx b 0 {CLAMP_CONDUCTS_VOLTS}\nd2 b 0 fitted\n"
    found = simulate(tmp_path, netlist, celsius=celsius, control="op\nprint i(v1) i(vx)")
    assert -found["i(v1)"] < 1e-6
    assert -found["i(vx)"] < 6e-6


def test_the_delay_is_bounded(tmp_path: Path) -> None:
    """A line stepping between its worst states takes no longer to the thresholds than stated, and not much less."""
    of = swing(line(Span.exact(1.5), Span.exact(10.5), idle_ohms=Span.exact(0), keyed_ohms=Span.exact(0)))
    tap = network(470e3, 180e3)
    netlist = (
        "vdd vdd 0 3.3\nvl l 0 pwl(0 1.5 100n 1.5 101n 10.5 60u 10.5 60.001u 1.5)\n"
        "r1 l n 474.7k\nr2 n 0 181.8k\nc1 n 0 26p\nd1 n vdd inside\nd2 0 n inside\n"
    )
    control = (
        "tran 10n 200u\nmeas tran rise trig at=100n targ v(n) val=2.2 rise=1\n"
        "meas tran fall trig at=60u targ v(n) val=0.6 fall=1"
    )
    found = simulate(tmp_path, netlist, celsius=27, control=control)
    rising, falling = edge_us(tap, of.idle, of.keyed), edge_us(tap, of.keyed, of.idle)
    assert SCHMITT_3V3.capacitance_pf == 26 + 2 * 2
    assert 0.7 * rising < 1e6 * found["rise"] <= rising
    assert 0.6 * falling < 1e6 * found["fall"] <= falling
