"""The wire between the devices and the board: its clock, what it leaves of the margins, and what the cable does."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

from retrofit.circuits.bus_clock import highest_bus_hz
from retrofit.circuits.chain_timing import (
    LEAST_SLACK_SHARE,
    boundary_hold,
    chain_slack,
    half_period_slack_ns,
    highest_spi_hz,
)
from retrofit.circuits.pullup import PULL_UP_OHMS, PULL_UP_TOLERANCE
from retrofit.circuits.result import Result
from retrofit.circuits.sense.design import Judged
from retrofit.circuits.settle import rise_time_s
from retrofit.circuits.two_wire_bus import pull_up_least
from retrofit.plan.topologies.demand import Bench, Demand
from retrofit.plan.topologies.kinds import Kind

BUFFER_SKEW_NS = 8.0
"""Skew between the clocks of two boards that buffer it each for itself; common practice, no source."""
DELAY_OHMS, DELAY_FARADS = 100.0, 47e-12
"""A low-pass that delays data where one board feeds the next; common practice, no source."""
SETTLED_SHARE = 0.63
BUS_WINDOW = "pull-up of the two-wire bus"
CLOCK_SLACK, BOUNDARY_HOLD = "slack of the clock", "hold where one board of the chain feeds the next"


@dataclass(frozen=True, slots=True)
class Wire:
    """The clock of a chain or bus, None where none can work, and what is to be said of it."""

    hz: int | None
    judged: tuple[Judged, ...]
    assumptions: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()


def chain_wire(lengths_m: Sequence[float], places: int, bench: Bench, assumed: tuple[str, ...]) -> Wire:
    """Return the clock of a chain along cables of these lengths, with boards in so many places.

    The clock leaves the controller and the data comes back to it, so that a register nearer to the controller is
    never clocked after the one that feeds it: with one clock wire there is no skew against the data.
    """
    longest = max(lengths_m)
    clock = highest_spi_hz(bench.board, bench.register, bench.cable, longest)
    judged = [Judged(CLOCK_SLACK, chain_slack(bench.board, bench.register, bench.cable, longest, clock.hz))]
    remarks: tuple[str, ...] = ()
    if places > 1:
        judged.append(Judged(BOUNDARY_HOLD, boundary_hold(bench.register, skew_ns=0.0)))
        remarks = (_buffered_words(places - 1, bench),)
    return Wire(clock.hz, tuple(judged), assumed, remarks)


def _buffered_words(boundaries: int, bench: Bench) -> str:
    missing = -boundary_hold(bench.register, skew_ns=BUFFER_SKEW_NS).margin
    delay_ns = 1e9 * rise_time_s(DELAY_OHMS, DELAY_FARADS, SETTLED_SHARE)
    return (
        f"the chain goes on to another place {boundaries} time{'' if boundaries == 1 else 's'}: with a clock buffered "
        f"at each, {missing:.0f} ns of hold are missing there; keep one clock wire, fed against the data, or delay "
        f"the data by {DELAY_OHMS:g} Ω and "
        f"{DELAY_FARADS * 1e12:g} pF, {ceil(missing / delay_ns)} in a row"
    )


def serial_wire(length_m: float, bench: Bench, assumed: tuple[str, ...]) -> Wire:
    """Return the clock of serial expanders: the fastest that keeps its margin in half a period."""
    board, figures = bench.board, bench.expander(Kind.SERIAL).figures
    limit_hz = min(board.figures["chain_clock_limit"].greatest, figures["clock_max"].greatest)
    rates = sorted((board.clock_hz // divider for divider in board.spi_dividers), reverse=True)
    allowed = [hz for hz in rates if hz <= limit_hz] or rates[-1:]
    slacks = {hz: _serial_slack(hz, length_m, bench) for hz in allowed}
    hz = next((hz for hz in allowed if slacks[hz].passes), allowed[-1])
    return Wire(hz, (Judged(CLOCK_SLACK, slacks[hz]),), assumed)


def _serial_slack(hz: int, length_m: float, bench: Bench) -> Result:
    half_ns = 1e9 / hz / 2
    valid_ns = bench.expander(Kind.SERIAL).figures["data_valid"].greatest * 1e9
    travel_ns = 2 * length_m * bench.cable.nanoseconds_per_metre.greatest
    slack_ns = half_period_slack_ns(half_ns, valid_ns, travel_ns, bench.board.figures["spi_setup"].greatest * 1e9)
    return Result(
        slack_ns, LEAST_SLACK_SHARE * half_ns, "ns", at_least=True, corner=f"{hz / 1e6:g} MHz, {length_m:g} m"
    )


def two_wire(lengths_m: Sequence[float | None], devices: int, bench: Bench) -> Wire:
    """Return the clock of a two-wire bus past so many expanders; None where its pull-up window is empty (UM10204)."""
    expander = bench.expander(Kind.TWO_WIRE)
    clock = highest_bus_hz(bench.board, expander, bench.cable, devices, tuple(lengths_m))
    picofarads = f"{clock.farads * 1e12:.0f} pF, {devices} expanders"
    if clock.pull_up_ohms is None or clock.hz is None:
        least = pull_up_least(bench.board.figures["supply"].greatest)
        judged = Judged(BUS_WINDOW, Result(0.0, least, "Ω", at_least=True, corner=picofarads))
        return Wire(None, (judged,), clock.assumptions)
    least, most = clock.pull_up_ohms
    result = Result(most, least, "Ω", at_least=True, corner=f"{picofarads}, {clock.hz / 1000:g} kHz")
    remark = f"two pull-ups between {least:.0f} and {most:.0f} Ω on the bus"
    return Wire(clock.hz, (Judged(BUS_WINDOW, result),), clock.assumptions, (remark,))


def cable_words(kind: Kind, demand: Demand, bench: Bench) -> str:
    """Return what the cable does to a line or a clock, at its worst."""
    cable, metres = bench.cable, demand.cable_taken_m
    picofarads = metres * cable.picofarads_per_metre.greatest
    if kind is Kind.TWO_WIRE:
        return f"{metres:g} m add {picofarads:.0f} pF to the bus"
    if kind in (Kind.CHAIN, Kind.SERIAL):
        travel_ns = 2 * metres * cable.nanoseconds_per_metre.greatest
        return f"{metres:g} m cost the clock {travel_ns:.0f} ns, out and back"
    ohms = PULL_UP_OHMS * (1 + PULL_UP_TOLERANCE)
    rise_us = 1e6 * rise_time_s(ohms, picofarads * 1e-12, bench.board.figures["vih_fraction"].least)
    return f"{metres:g} m add {picofarads:.0f} pF to a line, which reads high {rise_us:.1f} µs later"
