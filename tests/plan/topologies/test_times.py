"""Scan times of every way of reading against worked examples and against the model of the firmware's scan."""

from __future__ import annotations

import pytest

from retrofit.plan.scan_choice import choose_scan
from retrofit.plan.topologies.counts import count
from retrofit.plan.topologies.kinds import Kind
from retrofit.plan.topologies.model import Counts
from retrofit.plan.topologies.times import Timed, bus_us, scan_time, settle_us
from retrofit.survey.points import list_points
from tests.plan.jobs import GREAT, HEAD, job_of, keys
from tests.plan.topologies.consoles import BOARD, CATALOGUE, demand_of, only_group, rail, wiring


def expanders(devices: int) -> Counts:
    """Return the counts of so many expanders."""
    return Counts(places=16 * devices, taken=16 * devices, devices=devices, lanes=2 * devices)


@pytest.mark.parametrize(
    ("devices", "hertz", "milliseconds"),
    [(1, 400_000, 0.12), (8, 400_000, 0.96), (8, 100_000, 3.84), (17, 400_000, 2.04)],
)
def test_the_worked_bus(devices: int, hertz: int, milliseconds: float) -> None:
    """Ex 11: 48 bits a read: 120 µs at 400 kHz; 8 devices 0.96 or 3.84 ms; 17 in a row 2.04 ms."""
    assert bus_us(Timed(Kind.TWO_WIRE, expanders(devices), 0.0, hertz)) == pytest.approx(1000 * milliseconds)


def test_a_serial_expander_is_read_in_four_bytes() -> None:
    """Microchip DS20001952C: device, register and two bytes are 32 bits, 8 µs at 4 MHz."""
    assert bus_us(Timed(Kind.SERIAL, expanders(1), 0.0, 4_000_000)) == pytest.approx(8.0)


def test_the_wire_of_the_worked_chain() -> None:
    """Ex 9: 264 bits at 1 MHz take 264 µs on the wire; the scan takes that and the gaps of the firmware, no less."""
    demand, bench = demand_of(rail(263))
    counts = count(Kind.CHAIN, demand, bench)
    scan_us = scan_time(Timed(Kind.CHAIN, counts, 0.0, 1_000_000), bench).scan_us
    assert 264 <= scan_us <= 264 * 1.2


def test_chain_and_matrix_are_timed_as_the_plan_times_them() -> None:
    """One group alone takes exactly the busy time that the plan of the same job states."""
    for word, kind in (("chain", Kind.CHAIN), ("matrix", Kind.MATRIX), ("pins", Kind.PINS)):
        text = (
            HEAD
            + GREAT
            + keys(16)
            + wiring(diodes="schottky", metres="0,2")
            + f'[groups.wanted]\ninterface = "{word}"\n'
        )
        job = job_of(text)
        busy = choose_scan(job, list_points(job), BOARD, CATALOGUE).pacing.busy.total_us
        candidate = only_group(job).of(kind)
        assert candidate.time.scan_us == pytest.approx(busy)


def test_a_longer_cable_waits_longer() -> None:
    """Multiplexers and matrices wait for their lines to settle; more metres never wait less."""
    short, bench = demand_of(rail(64, metres="1"))
    long, _ = demand_of(rail(64, metres="30"))
    for kind in (Kind.MUX_8, Kind.MUX_16, Kind.MATRIX):
        assert settle_us(kind, short, bench) < settle_us(kind, long, bench)
    assert settle_us(Kind.CHAIN, long, bench) == 0
