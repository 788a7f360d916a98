"""Magnet coils against the worked bank, a circuit simulator and a numerical solver."""

from __future__ import annotations

from math import ceil
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from retrofit.circuits.coil import (
    Coil,
    coil_amps,
    coil_joules,
    decay_s,
    judge_release,
    kick_volts,
    largest_group,
    reservoir_farads,
    saturated_watts,
    stage_bank,
    switch_watts,
)
from retrofit.circuits.result import Span
from retrofit.circuits.sense.design import Verdict
from tests.circuits.spice import run_netlist

COIL = Coil(Span.exact(32.0), Span.exact(14.0), Span.exact(60e-3))


def test_the_worked_bank() -> None:
    """Ex 12: 48 coils of 32 Ω at 14 V, all at once 21.0 A, in sixes 2.625 A and 0.8 s, in twelves 5.25 A and 0.4 s."""
    assert coil_amps(14, 32) == 0.4375
    assert 14 * coil_amps(14, 32) == 6.125
    banks = {at_once: stage_bank(COIL, 48, at_once, 0.1, None) for at_once in (48, 6, 12)}
    assert {n: round(bank.amps, 3) for n, bank in banks.items()} == {48: 21.0, 6: 2.625, 12: 5.25}
    assert {n: bank.groups for n, bank in banks.items()} == {48: 1, 6: 8, 12: 4}
    assert {n: round(bank.total_s, 1) for n, bank in banks.items()} == {48: 0.1, 6: 0.8, 12: 0.4}


def test_the_worked_coil() -> None:
    """Ex 12: 5.74 mJ, L/R 1.875 ms, 3.57 ms to 10 % through 0.8 V; 9.6 mW in 50 mΩ, 0.394 W at 0.9 V; 0.2625 F."""
    assert round(1e3 * coil_joules(60e-3, 0.4375), 2) == 5.74
    assert round(1e3 * 60e-3 / 32, 3) == 1.875
    assert round(1e3 * decay_s(60e-3, 32, 0.4375, 0.8, 0.1), 2) == 3.57
    assert round(1e3 * switch_watts(0.4375, 0.05), 1) == 9.6
    assert round(saturated_watts(0.4375, 0.9), 3) == 0.394
    assert round(reservoir_farads(2.625, 0.1, 1.0), 4) == 0.2625


def test_release_agrees_with_a_numerical_solver() -> None:
    """scipy's solve_ivp of L·di/dt = −R·i − Vd reaches a tenth of the current at the same time."""

    def slope(_: float, amps: list[float]) -> list[float]:
        return [(-32 * amps[0] - 0.8) / 60e-3]

    def crossing(_: float, amps: list[float]) -> float:
        return amps[0] - 0.04375

    solved = solve_ivp(slope, (0, 0.02), [0.4375], events=crossing, rtol=1e-10, atol=1e-12)
    assert decay_s(60e-3, 32, 0.4375, 0.8, 0.1) == pytest.approx(solved.t_events[0][0], rel=1e-6)


FLYBACK = """a coil lets go behind a diode of the 1N4001 kind
* model from memory: a common textbook model of the 1N4001
.model rect d(is=14.11n n=1.984 rs=33.89m ikf=94.81 cjo=25.89p vj=0.3245 m=0.44 bv=75 ibv=10u tt=5.7u)
v1 supply 0 14
r1 supply a 32
l1 a drain 60m
d1 drain supply rect
s1 drain 0 gate 0 fet
.model fet sw(vt=2.5 vh=0.1 ron=0.05 roff=100meg)
vg gate 0 pwl(0 5 30m 5 30.001m 0)
.options temp={celsius}
.tran 5u 60m
.control
run
meas tran held find i(l1) at=29.9m
meas tran tenth when i(l1)=0.04375 fall=1
.endc
.end
"""


@pytest.mark.parametrize("celsius", [0, 27, 50])
def test_release_agrees_with_a_circuit_simulator(tmp_path: Path, celsius: int) -> None:
    """ngspice with a real diode: between our times for 0.9 V and 0.6 V, the forward volts of such a diode as it dies.

    The time with the least forward voltage is the longest, and is what is judged.
    """
    (found,) = run_netlist(tmp_path, FLYBACK.format(celsius=celsius))
    assert found["held"] == pytest.approx(coil_amps(14, 32.05), rel=1e-3)
    released = found["tenth"] - 30e-3
    assert decay_s(60e-3, 32, 0.4375, 0.9, 0.1) < released < decay_s(60e-3, 32, 0.4375, 0.6, 0.1)


KICK = """a coil without a diode rings with its winding's capacitance
v1 supply 0 14
r1 supply a 32
l1 a drain 60m
c1 drain 0 {farads}
s1 drain 0 gate 0 fet
.model fet sw(vt=2.5 vh=0.1 ron=0.05 roff=1g)
vg gate 0 pwl(0 5 30m 5 30.0001m 0)
.tran 0.5u 32m 29m 0.5u
.control
run
meas tran peak max v(drain)
.endc
.end
"""


@pytest.mark.parametrize("farads", ["100n", "220n", "1u"])
def test_the_kick_is_never_understated(tmp_path: Path, farads: str) -> None:
    """ngspice: the peak of a real coil with its own resistance stays below ours, and is within a fifth of it."""
    (found,) = run_netlist(tmp_path, KICK.format(farads=farads))
    ours = kick_volts(14, 0.4375, 60e-3, float(farads.replace("n", "e-9").replace("u", "e-6")))
    assert 0.8 * ours < found["peak"] < ours


def test_the_worst_of_a_coil_is_cold_on_a_full_supply() -> None:
    """The greatest current is at the least resistance and the greatest volts."""
    coil = Coil(Span(28, 36), Span(12, 15))
    assert stage_bank(coil, 10, 4, 0.1, None).amps == pytest.approx(4 * 15 / 28)


def test_a_bank_is_judged_by_its_supply() -> None:
    """Sixes of 0.4375 A keep 70 % of a 5 A supply, twelves do not; without a rating it is unknown."""
    verdicts = [stage_bank(COIL, 48, at_once, 0.1, 5.0).judged.verdict for at_once in (6, 12)]
    assert verdicts == [Verdict.GOOD, Verdict.FAILS]
    assert stage_bank(COIL, 48, 6, 0.1, None).judged.verdict is Verdict.UNKNOWN


@given(st.floats(0.1, 50), st.integers(1, 200))
def test_the_largest_group_is_the_largest(rating: float, coils: int) -> None:
    """The largest group passes and one coil more fails."""
    group = largest_group(COIL, rating)
    if group:
        assert stage_bank(COIL, max(coils, group), group, 0.1, rating).judged.verdict is Verdict.GOOD
    assert stage_bank(COIL, group + 1, group + 1, 0.1, rating).judged.verdict is Verdict.FAILS


@given(st.integers(1, 200), st.integers(1, 200))
def test_every_coil_has_its_turn(coils: int, at_once: int) -> None:
    """The groups hold every coil, and one group fewer would not."""
    groups = stage_bank(COIL, coils, at_once, 0.1, None).groups
    assert groups == ceil(coils / at_once)
    assert groups * at_once >= coils > (groups - 1) * at_once


def test_release_is_judged_at_its_slowest() -> None:
    """Cold, full supply, most inductance decide; without the inductance it is unknown."""
    coil = Coil(Span(28, 36), Span(12, 15), Span(50e-3, 70e-3))
    judged = judge_release(coil, 0.6, 0.1, 10e-3)
    assert judged.result is not None
    assert judged.result.value == pytest.approx(1e3 * decay_s(70e-3, 28, 15 / 28, 0.6, 0.1))
    assert judged.verdict is Verdict.GOOD
    assert judge_release(coil, 0.6, 0.1, 1e-3).verdict is Verdict.FAILS
    assert judge_release(Coil(Span.exact(32), Span.exact(14)), 0.6, 0.1, 1e-3).verdict is Verdict.UNKNOWN
