"""Optocoupler inputs against ngspice, with netlists written by hand and diodes that have a knee."""

from __future__ import annotations

from dataclasses import replace
from itertools import product
from pathlib import Path

import pytest

from retrofit.catalogue.isolators import load_optocouplers, load_zeners
from retrofit.circuits.result import Span
from retrofit.circuits.sense.driven import driven
from retrofit.circuits.sense.opto_choice import OptoValues, network
from retrofit.circuits.sense.opto_judge import judge_network
from retrofit.circuits.sense.opto_network import Coupler, led_amps
from tests.circuits.sense_cases import MAGNET_LINE, REGISTER_INPUT, sharp_network
from tests.circuits.spice import run_netlist

LINEAR = """* resistors of the input, zener and LED as fixed drops
Vline line 0 DC {line}
Rseries line a {series}
Vzener a b DC {zener}
Rbypass b 0 {bypass}
Vled b 0 DC {forward}
.control
op
print i(Vled)
.endc
.end
"""

# LEDs of 1.4 V and 1.0 V at 20 mA with 2 ohms inside and an emission coefficient of 2, at 25 degrees.
REAL = """* input of an optocoupler with a zener that has a knee
.options tnom=25 temp={celsius}
Vline line 0 DC {line}
Rseries line a {series}
Dzener b a zener
Rbypass b 0 {bypass}
Dled b k {led}
Vk k 0 0
.model zener D(IS=1e-14 N=1 BV={zener} IBV=5m NBV={softness})
.model ledhigh D(IS=6.5e-14 N=2 RS=2 EG=1.4)
.model ledlow D(IS=1.5e-10 N=2 RS=2 EG=1.4)
.control
op
print i(Vk)
print i(Vline)
.endc
.end
"""
CATALOGUE_VALUES = OptoValues(4.7e3, load_zeners()["bzx79-c5v1"], None, 47e3)
COUPLER = Coupler.of(load_optocouplers()["pc817"])
NO_BYPASS = 1e12


@pytest.mark.parametrize(
    ("line", "series", "zener", "forward", "bypass"),
    [
        (10.5, 4935, 5.36, 1.4, 1e12),
        (15.5, 4465, 4.85, 1.0, 1e12),
        (12, 3300, 6.2, 1.2, 4700),
        (28, 9100, 10, 1.1, 1e4),
    ],
)
def test_linear_part(tmp_path: Path, line: float, series: float, zener: float, forward: float, bypass: float) -> None:
    """With fixed drops the LED current is that of ngspice within 1 %."""
    netlist = LINEAR.format(line=line, series=series, zener=zener, forward=forward, bypass=bypass)
    simulated = run_netlist(tmp_path, netlist)[0]["i(vled)"]
    assert led_amps(line, 0.0, series, zener, forward, bypass) == pytest.approx(simulated, rel=0.01)


def test_deciding_corners(tmp_path: Path) -> None:
    """Of all 16 corners with real diodes ngspice finds the same least and greatest current, inside our two bounds."""
    ends = {"line": (10.5, 15.5), "series": (4465, 4935), "zener": (4.8, 5.4), "led": ("ledlow", "ledhigh")}
    found = {}
    for line, series, zener, led in product(*ends.values()):
        netlist = REAL.format(line=line, series=series, zener=zener, led=led, celsius=25, softness=5, bypass=NO_BYPASS)
        found[line, series, zener, led] = run_netlist(tmp_path, netlist)[0]["i(vk)"]
    least, most = min(found, key=found.__getitem__), max(found, key=found.__getitem__)
    drive = driven(replace(MAGNET_LINE, keyed_ohms=Span.exact(0.0)))
    assert drive is not None
    circuit = network(COUPLER, CATALOGUE_VALUES, 0.05)
    overdrive = judge_network(circuit, drive, REGISTER_INPUT, 0.0)[0].result
    assert overdrive is not None
    assert least == (10.5, 4935, 5.4, "ledhigh")
    assert overdrive.corner.startswith("line 10.5 V, series 4.94 kΩ, zener 5.47 V, forward 1.4 V")
    assert most == (15.5, 4465, 4.8, "ledlow")
    assert led_amps(10.5, 0, 4935, 5.4, 1.4) <= found[least] <= 1.3 * led_amps(10.5, 0, 4935, 5.4, 1.4)
    assert found[most] <= circuit.line_amps_most(15.5) <= 1.1 * found[most]


@pytest.mark.parametrize("bypass", [None, 10e3])
@pytest.mark.parametrize(("celsius", "softness"), [(0, 13.8), (25, 13.8), (50, 13.8), (50, 5), (25, 1)])
def test_the_idle_state_is_never_darker_here_than_there(
    tmp_path: Path, celsius: int, softness: float, bypass: float | None
) -> None:
    """From 0.5 to 9 V, at three temperatures and knees up to the printed leakage, our LED current bounds ngspice's.

    A softness of 13.8 gives 2 µA at 2 V, the greatest leakage that the BZX79-C5V1 table prints (from memory).
    """
    circuit = network(COUPLER, replace(CATALOGUE_VALUES, bypass_ohms=bypass), 0.05)
    most = NO_BYPASS if bypass is None else circuit.bypass_span.greatest
    for line in (0.5, 1.5, 2.5, 4.0, 5.5, 7.0, 9.0):
        netlist = REAL.format(
            line=line,
            series=circuit.series.least,
            zener=circuit.threshold.volts.least,
            led="ledlow",
            celsius=celsius,
            softness=softness,
            bypass=most,
        )
        printed = run_netlist(tmp_path, netlist)[0]
        # 1 pA is the residue of the simulator's own least conductance
        assert printed["i(vk)"] <= circuit.led_amps_most(line, most) + 1e-11
        assert -printed["i(vline)"] <= circuit.line_amps_most(line) + 1e-11


def test_a_sharp_model_would_have_been_optimistic(tmp_path: Path) -> None:
    """At 4 V a soft 5.1 V zener passes microamperes where a model without knee says nothing flows; ours says more."""
    sharp = sharp_network(zener=Span(4.85, 5.36), pull_up_ohms=47e3)
    ours = network(COUPLER, CATALOGUE_VALUES, 0.05)
    netlist = REAL.format(line=4.0, series=4465, zener=4.8, led="ledlow", celsius=25, softness=13.8, bypass=NO_BYPASS)
    simulated = run_netlist(tmp_path, netlist)[0]["i(vk)"]
    assert sharp.led_amps_most(4.0, NO_BYPASS) < 1e-11
    assert simulated > 1.6e-6
    assert ours.led_amps_most(4.0, NO_BYPASS) >= simulated


@pytest.mark.parametrize("zener", ["bzx79-c3v3", "bzx79-c5v1", "bzx79-c10"])
@pytest.mark.parametrize("bypass", [None, 10e3])
def test_the_allowed_idle_volts_are_dark(tmp_path: Path, zener: str, bypass: float | None) -> None:
    """At the idle volts that we allow for 2 µA ngspice has no more than 2 µA, each zener as soft as it is printed."""
    values = OptoValues(4.7e3, load_zeners()[zener], bypass, 47e3)
    circuit = network(COUPLER, values, 0.05)
    netlist = REAL.format(
        line=circuit.idle_volts_allowed(2e-6),
        series=circuit.series.least,
        zener=circuit.threshold.volts.least,
        led="ledlow",
        celsius=50,
        softness={"bzx79-c3v3": 11.6, "bzx79-c5v1": 13.8, "bzx79-c10": 8.6}[zener],
        bypass=NO_BYPASS if bypass is None else circuit.bypass_span.greatest,
    )
    assert run_netlist(tmp_path, netlist)[0]["i(vk)"] <= 2e-6
