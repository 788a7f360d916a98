"""A line looked at through a high-impedance divider to our ground, with clamps at the input."""

from __future__ import annotations

from dataclasses import replace

from retrofit.circuits.quantity import quantity
from retrofit.circuits.result import Span
from retrofit.circuits.sense.dead_rail import choose_bleeder, dead_line_amps
from retrofit.circuits.sense.design import Judged, SenseDesign
from retrofit.circuits.sense.line import Line
from retrofit.circuits.sense.logic_input import LogicInput
from retrofit.circuits.sense.swing import Swing, refusals_of_line, swing_of
from retrofit.circuits.sense.tap_choice import (
    KICK,
    RESISTOR_TOLERANCE,
    choose_tap,
    network_of,
    reason_of,
    refused,
    tap_as_design,
    tap_parts,
    undecided,
)
from retrofit.circuits.sense.tap_design import INPUT_DELAY_US, Surroundings
from retrofit.circuits.sense.tap_network import CLAMP_CONDUCTS_VOLTS, TapNetwork, node_volts

CIRCUIT = "high-impedance divider"
GROUND = Span.exact(0.0)


def design(
    line: Line,
    behind: LogicInput,
    *,
    rail_load_a: float | None = None,
    organ_supply_ohms: float | None = None,
    tolerance: float = RESISTOR_TOLERANCE,
) -> SenseDesign:
    """Return the divider for a line that stays on the positive side of our ground and carries neither audio nor kicks.

    `rail_load_a` is the least current that our rail draws, `organ_supply_ohms` the greatest source resistance of the
    organ's supply.
    """
    swing = swing_of(line)
    refusals = (*refusals_of_line(line), *kick_refusal(line))
    if refusals:
        return refused(CIRCUIT, refusals, swing)
    if swing is None:
        return undecided(CIRCUIT, line)
    pair = choose_tap(swing, behind, GROUND, tolerance)
    if pair is None:
        return refused(CIRCUIT, (no_pair(swing, behind, _remedy(swing)),), swing)
    network = network_of(pair, behind, GROUND, tolerance)
    below = below_ground(network, swing)
    if below:
        return refused(CIRCUIT, below, swing)
    parts = tap_parts(pair, behind, tolerance, most_volts(swing), lower_to="our ground")
    remarks = (reason_of(pair, network), *dead_rail_remark(network, swing, line.lines_at_once))
    found = tap_as_design(CIRCUIT, network, parts, line, swing, Surroundings(rail_load_a, organ_supply_ohms), remarks)
    return replace(found, judged=(*found.judged, *kick_unknown(line)))


def kick_refusal(line: Line) -> tuple[str, ...]:
    """Return why a line with an inductive load is refused, or nothing."""
    if not line.kick_volts:
        return ()
    return (
        f"the line kicks to {quantity(line.kick_volts, 'V')} when its load is opened: "
        "use the input with spike-rated resistors",
    )


def kick_unknown(line: Line) -> tuple[Judged, ...]:
    """Return the open question whether an inductive load hangs on the line, or nothing."""
    if line.kick_volts is not None:
        return ()
    return (Judged(KICK, None, missing="how far the line kicks when its load is opened (0 V without a coil)"),)


def no_pair(swing: Swing, behind: LogicInput, remedy: str) -> str:
    """Return why no pair of resistors reads this line, and what to try."""
    return (
        f"no two resistors bring {swing.low.name} ({quantity(swing.low.volts.greatest, 'V')} at most) "
        f"and {swing.high.name} ({quantity(swing.high.volts.least, 'V')} at least) "
        f"clear of the limits of {behind.name} within {INPUT_DELAY_US:g} µs: {remedy}"
    )


def _remedy(swing: Swing) -> str:
    return "use an offset divider" if swing.low.volts.least < 0 else "use a comparator"


def below_ground(network: TapNetwork, swing: Swing) -> tuple[str, ...]:
    """Return why a divider to our ground is refused on a line that goes below it, or nothing."""
    lowest = node_volts(swing.low.volts.least, 0.0, network.series.least, network.lower.greatest)
    if lowest >= -CLAMP_CONDUCTS_VOLTS:
        return ()
    return (
        f"the {swing.low.name} line goes to {quantity(swing.low.volts.least, 'V')}, "
        f"which would pull the input to {quantity(lowest, 'V')} "
        "and its clamp would pull at the line: use an offset divider",
    )


def most_volts(swing: Swing) -> float:
    """Return the greatest volts of either sign that the line carries."""
    return max(abs(swing.low.volts.least), abs(swing.high.volts.greatest))


def dead_rail_remark(network: TapNetwork, swing: Swing, lines_at_once: int) -> tuple[str, ...]:
    """Return what the held lines do to our rail while our supply is off, and the bleeder that cures it."""
    each = dead_line_amps(swing.high.volts.greatest, network.series.least)
    bleeder = choose_bleeder(each * lines_at_once, network.behind.supply)
    if bleeder is None:
        return ()
    return (
        f"while our supply is off, {lines_at_once} held lines feed {1e3 * each * lines_at_once:.3g} mA into our rail: "
        f"{quantity(bleeder.part.value, 'Ω')} across it keeps it below {quantity(bleeder.dead.limit, 'V')} "
        f"and costs {bleeder.alive_ma:.3g} mA and {bleeder.alive_mw:.3g} mW",
    )
