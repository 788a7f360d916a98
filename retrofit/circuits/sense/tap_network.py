"""The network at a tap: a resistor from the line to the input, one from the input to a reference, and two clamps.

A high-impedance divider has our ground for its reference, an offset divider a voltage.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import product
from math import inf

from retrofit.circuits.result import Span, worst_corner
from retrofit.circuits.sense.logic_input import LogicInput
from retrofit.circuits.sense.swing import State

CLAMP_VOLTS = Span(0.0, 0.9)
"""Forward volts of a clamp: none bounds what a hot diode lets through, the most is a milliampere cold (from memory)."""
CLAMP_CONDUCTS_VOLTS = 0.2
"""Up to this a hot clamp carries less than a microampere; from memory."""
FITTED_CLAMP_LEAKAGE_A = 0.5e-6
"""Leakage of a small silicon diode fitted as a clamp: 25 nA at 25 °C, doubled every 10 K to 68 °C; from memory."""

_UNITS = {
    "supply": "V",
    "line": "V",
    "source": "Ω",
    "series": "Ω",
    "lower": "Ω",
    "reference": "V",
    "clamp": "V",
    "leakage": "A",
}
_NOTHING = Span.exact(0.0)


def node_volts(
    line: float, source: float, series: float, lower: float, reference: float = 0.0, leakage: float = 0.0
) -> float:
    """Return the open level at the input: (V/(Rs + R1) + Vref/R2 + I)/(1/(Rs + R1) + 1/R2) (Millman's theorem)."""
    to_line, to_reference = 1 / (source + series), 1 / lower
    return (line * to_line + reference * to_reference + leakage) / (to_line + to_reference)


def clamped(volts: float, supply: float, clamp: float) -> float:
    """Return a level held between a diode below ground and a diode above the supply."""
    return min(max(volts, -clamp), supply + clamp)


def line_amps(line: float, source: float, series: float, node: float) -> float:
    """Return the current out of the line: (V − Vnode)/(Rs + R1)."""
    return (line - node) / (source + series)


def injected_amps(line: float, series: float, lower: float, reference: float, held: float) -> float:
    """Return what flows on through a clamp that holds the input: (V − Vc)/R1 + (Vref − Vc)/R2."""
    return (line - held) / series + (reference - held) / lower


def input_leakage_a(behind: LogicInput) -> float:
    """Return the leakage of an input, with that of the clamps that must be fitted where it has none."""
    return behind.leakage_a + (0.0 if behind.clamp else FITTED_CLAMP_LEAKAGE_A)


@dataclass(frozen=True, slots=True)
class TapNetwork:
    """The resistors of a tap at their tolerance, the reference, and the input behind.

    `reference` is None when it is the logic supply itself, which then moves with it.
    """

    series: Span
    lower: Span
    reference: Span | None
    behind: LogicInput

    @property
    def leakage_a(self) -> float:
        """Greatest current into or out of the input and its clamps."""
        return input_leakage_a(self.behind)

    @property
    def lightest_ohms(self) -> Span:
        """Resistance that the line sees while no clamp conducts."""
        return Span(self.series.least + self.lower.least, self.series.greatest + self.lower.greatest)

    def spans(self, volts: Span, ohms: Span, supply: Span) -> dict[str, Span]:
        """Return the spans of every quantity of the network, by the names that its formulas use."""
        spans = {"supply": supply, "line": volts, "source": ohms, "series": self.series, "lower": self.lower}
        return spans if self.reference is None else {**spans, "reference": self.reference}


def level_margin(network: TapNetwork, state: State, *, high: bool) -> tuple[float, str] | None:
    """Return the worst margin of a level in percent of the supply, with its corner; None without the source resistance.

    `high` tells which limit of the input the level must clear.
    """
    if state.ohms is None:
        return None
    margin = _margin_of(network, high=high)
    return worst_corner(margin, lowest=True, units=_UNITS, **_level_spans(network, state, state.ohms))


def least_margin(network: TapNetwork, state: State, *, high: bool) -> float:
    """Return the worst margin of a level in percent of the supply, an unknown source taken as stiff.

    The same figure as that of `level_margin` without its corner, fast enough for a search.
    """
    behind, source = network.behind, state.ohms or _NOTHING
    limit, sign, line = (behind.vih, 1, state.volts.least) if high else (behind.vil, -1, state.volts.greatest)
    leakage, worst = -sign * network.leakage_a, inf
    for supply in _ends(behind.supply):
        wanted = limit(supply)
        references = (supply,) if network.reference is None else _ends(network.reference)
        for ends in product(_ends(source), _ends(network.series), _ends(network.lower), references):
            worst = min(worst, 100 * sign * (node_volts(line, *ends, leakage) - wanted) / supply)
    return worst


def _ends(span: Span) -> tuple[float, ...]:
    return (span.least,) if span.least == span.greatest else (span.least, span.greatest)


def _level_spans(network: TapNetwork, state: State, ohms: Span) -> dict[str, Span]:
    return network.spans(state.volts, ohms, network.behind.supply)


def _margin_of(network: TapNetwork, *, high: bool) -> Callable[..., float]:
    behind = network.behind
    leakage = -network.leakage_a if high else network.leakage_a

    def margin(
        supply: float, line: float, source: float, series: float, lower: float, reference: float | None = None
    ) -> float:
        node = node_volts(line, source, series, lower, supply if reference is None else reference, leakage)
        return 100 * (node - behind.vih(supply) if high else behind.vil(supply) - node) / supply

    return margin


def level_span(network: TapNetwork, state: State) -> Span:
    """Return the least and greatest open level at the input in one state; an unknown source is taken as stiff."""
    reference = network.behind.supply if network.reference is None else network.reference
    leakage = Span(-network.leakage_a, network.leakage_a)
    spans = (state.volts, state.ohms or _NOTHING, network.series, network.lower, reference, leakage)
    levels = [node_volts(*ends) for ends in product(*map(_ends, spans))]
    return Span(min(levels), max(levels))


def line_threshold(network: TapNetwork, *, low: bool) -> float:
    """Return the line volts at which the input is sure to read low (or high): `node_volts` solved for the line."""
    behind, leakage = network.behind, network.leakage_a * (1 if low else -1)

    def threshold(supply: float, series: float, lower: float, reference: float | None = None) -> float:
        node, pull = behind.vil(supply) if low else behind.vih(supply), supply if reference is None else reference
        return node + series * ((node - pull) / lower - leakage)

    spans = {"supply": behind.supply, "series": network.series, "lower": network.lower}
    if network.reference is not None:
        spans["reference"] = network.reference
    return worst_corner(threshold, lowest=low, units=_UNITS, **spans)[0]


def worst_injection(network: TapNetwork, volts: Span, *, above: bool) -> tuple[float, str]:
    """Return the greatest current through the clamp to the supply (`above`) or to ground, never below 0 A.

    The source is taken as stiff, which is the worst.
    """

    def amps(
        supply: float, line: float, series: float, lower: float, clamp: float, reference: float | None = None
    ) -> float:
        held = supply + clamp if above else -clamp
        through = injected_amps(line, series, lower, supply if reference is None else reference, held)
        return max(0.0, through if above else -through)

    spans = network.spans(volts, _NOTHING, network.behind.supply) | {"clamp": CLAMP_VOLTS}
    del spans["source"]
    return worst_corner(amps, lowest=False, units=_UNITS, **spans)


def worst_line_amps(network: TapNetwork, volts: Span, ohms: Span | None, *, powered: bool = True) -> tuple[float, str]:
    """Return the current out of the line that is greatest in magnitude, with its corner.

    `powered` False stands for our supply, and what is derived from it, at 0 V.  A source resistance that is unknown is
    taken as nothing, which is the worst.
    """
    return _greatest(_amps_of(network, powered=powered), _current_spans(network, volts, ohms, powered=powered))


def worst_shift_volts(
    network: TapNetwork, volts: Span, ohms: Span, *, share: bool, powered: bool = True
) -> tuple[float, str]:
    """Return how far the network moves the line, in volts or as a share of the line's own volts, with the corner."""
    amps = _amps_of(network, powered=powered)

    def shift(line: float, source: float, **rest: float) -> float:
        return abs(amps(line=line, source=source, **rest) * source / (line if share else 1.0))

    return worst_corner(shift, lowest=False, units=_UNITS, **_current_spans(network, volts, ohms, powered=powered))


def _current_spans(network: TapNetwork, volts: Span, ohms: Span | None, *, powered: bool) -> dict[str, Span]:
    supply = network.behind.supply if powered else _NOTHING
    spans = network.spans(volts, ohms or _NOTHING, supply)
    if not powered:
        spans.pop("reference", None)
    leakage = network.leakage_a
    return spans | {"clamp": CLAMP_VOLTS, "leakage": Span(-leakage, leakage)}


def _amps_of(network: TapNetwork, *, powered: bool) -> Callable[..., float]:
    own = network.reference is None or not powered

    def amps(supply: float, line: float, source: float, **rest: float) -> float:
        series, reference = rest["series"], supply if own else rest["reference"]
        node = node_volts(line, source, series, rest["lower"], reference, rest["leakage"])
        return line_amps(line, source, series, clamped(node, supply, rest["clamp"]))

    return amps


def _greatest(amps: Callable[..., float], spans: dict[str, Span]) -> tuple[float, str]:
    lowest = worst_corner(amps, lowest=True, units=_UNITS, **spans)
    highest = worst_corner(amps, lowest=False, units=_UNITS, **spans)
    return max(highest, lowest, key=lambda pair: abs(pair[0]))
