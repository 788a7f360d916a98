"""Timing of the shift-in chain: the slack of a bit on its way to the controller, and the clock that keeps a margin.

Registers launch on one clock edge and the controller samples on the other, half a period later.
"""

from __future__ import annotations

from dataclasses import dataclass

from retrofit.catalogue.parts import Board, Cable, Register
from retrofit.circuits.result import Result, Span, worst_corner

LEAST_SLACK_SHARE = 0.2
"""Share of the half period that must be left; common practice, no source."""


@dataclass(frozen=True, slots=True)
class ChainClock:
    """The clock chosen for a chain.

    `slack` is in nanoseconds against its limit, None when the cable was not measured.  `holds_to_m` is the longest
    cable on which this clock still keeps its margin; 0 when it keeps none.
    """

    hz: int
    slack: Result | None
    holds_to_m: float
    reason: str
    assumptions: tuple[str, ...]


def half_period_slack_ns(
    half_period_ns: float, propagation_ns: float, travel_ns: float, setup_ns: float, buffer_ns: float = 0.0
) -> float:
    """Return what is left of half a clock period: T/2 − (t_pd + travel out and back + buffer + t_su)."""
    return half_period_ns - (propagation_ns + travel_ns + buffer_ns + setup_ns)


def chain_slack(board: Board, register: Register, cable: Cable, cable_m: float, hz: int) -> Result:
    """Return the worst slack, in ns, over the board's supply range at its highest temperature."""
    celsius = board.figures["ambient"].greatest
    supply = board.figures["supply"]
    half_period_ns = 1e9 / hz / 2
    travel_ns = 2 * cable_m * cable.nanoseconds_per_metre.greatest
    setup_ns = board.figures["spi_setup"].greatest * 1e9

    def slack(supply: float) -> float:
        return half_period_slack_ns(half_period_ns, register.propagation_ns.at(supply, celsius), travel_ns, setup_ns)

    spans = {"supply": Span(supply.least, supply.greatest)}
    value, corner = worst_corner(slack, lowest=True, units={"supply": "V"}, **spans)
    return Result(value, LEAST_SLACK_SHARE * half_period_ns, "ns", at_least=True, corner=f"{corner}, {celsius:g} °C")


def longest_cable_m(board: Board, register: Register, cable: Cable, hz: int) -> float:
    """Return the longest cable on which the chain keeps its margin at a clock; 0 when it has none to begin with."""
    margin_ns = chain_slack(board, register, cable, 0.0, hz).margin
    return max(0.0, margin_ns / (2 * cable.nanoseconds_per_metre.greatest))


def highest_spi_hz(board: Board, register: Register, cable: Cable, cable_m: float | None) -> ChainClock:
    """Return the fastest of the board's clocks that keeps the margin on a cable of this length.

    Real wiring is not clocked above the board's `chain_clock_limit`; a cable that was not measured not above
    `chain_clock_unmeasured`.  When no clock keeps the margin the slowest is returned with the slack that it misses.
    """
    if cable_m is None:
        return _unmeasured(board, register, cable)
    rates = _rates(board, register, board.figures["chain_clock_limit"].greatest)
    slacks = {hz: chain_slack(board, register, cable, cable_m, hz) for hz in rates}
    hz = next((hz for hz in rates if slacks[hz].passes), rates[-1])
    slack = slacks[hz]
    reason = (
        f"{hz / 1e6:g} MHz leaves {slack.value:.0f} ns of the {slack.limit:.0f} ns wanted on {cable_m:g} m of cable "
        f"({slack.corner})"
    )
    return ChainClock(hz, slack, longest_cable_m(board, register, cable, hz), reason, ())


def _unmeasured(board: Board, register: Register, cable: Cable) -> ChainClock:
    hz = _rates(board, register, board.figures["chain_clock_unmeasured"].greatest)[0]
    longest = longest_cable_m(board, register, cable, hz)
    reason = f"{hz / 1e6:g} MHz because the cable was not measured; it keeps its margin up to {longest:.1f} m"
    assumed = f"the chain's cable is taken to be at most {longest:.1f} m long, which nobody has measured"
    return ChainClock(hz, None, longest, reason, (assumed,))


def _rates(board: Board, register: Register, limit_hz: float) -> list[int]:
    """Return the clocks, fastest first, that neither the limit nor the register forbids; at least the slowest."""
    supply, celsius = board.figures["supply"].least, board.figures["ambient"].greatest
    fastest = min(limit_hz, 1e6 * register.clock_max_mhz.at(supply, celsius))
    rates = sorted((board.clock_hz // divider for divider in board.spi_dividers), reverse=True)
    return [hz for hz in rates if hz <= fastest] or rates[-1:]


def hold_slack_ns(propagation_least_ns: float, data_wire_ns: float, hold_ns: float, skew_ns: float) -> float:
    """Return what is left before a bit changes too early behind a register: t_pd(min) + wire − t_hold − clock skew."""
    return propagation_least_ns + data_wire_ns - hold_ns - skew_ns


def boundary_hold(register: Register, *, skew_ns: float, data_wire_ns: float = 0.0) -> Result:
    """Return the hold slack, in ns, where one board of the chain feeds the next with its own buffered clock."""
    least = register.figures["propagation_least"]
    value = hold_slack_ns(least.least * 1e9, data_wire_ns, register.figures["hold"].least * 1e9, skew_ns)
    assumption = f"{register.name} takes at least {least.least * 1e9:g} ns from clock to output ({least.source})"
    return Result(value, 0.0, "ns", at_least=True, corner=f"clock skew {skew_ns:g} ns", assumptions=(assumption,))
