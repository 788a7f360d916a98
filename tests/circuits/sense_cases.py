"""Lines, inputs and sharp parts for the tests of sense circuits; the lines are invented."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from retrofit.catalogue.load import load_catalogue
from retrofit.circuits.result import Span
from retrofit.circuits.sense.design import Judged, SenseDesign
from retrofit.circuits.sense.knee import Knee
from retrofit.circuits.sense.line import Line
from retrofit.circuits.sense.logic_input import LogicInput, register_input
from retrofit.circuits.sense.opto_network import NO_THRESHOLD, Coupler, OptoNetwork, Threshold

CATALOGUE = load_catalogue()
REGISTER_INPUT = register_input(CATALOGUE.boards["atmega2560"], CATALOGUE.registers["74hc165"])
MAGNET_LINE = Line(
    idle_volts=Span(0.0, 1.5),
    keyed_volts=Span(10.5, 15.5),
    idle_ohms=Span(100.0, 150.0),
    keyed_ohms=Span(0.0, 1.0),
    keyed_amps=0.06,
    kick_volts=0.0,
    carries_audio=False,
)
OUR_LINE = Line(idle_volts=None, keyed_volts=None, keyed_ohms=Span.exact(0.0), carries_audio=False, ours=True)


def logic_at(supply: Span, *, vil: float, vih: float, leakage_a: float = 0.0) -> LogicInput:
    """Return an input with limits as fractions of its supply."""
    return LogicInput("input", supply, lambda volts: vil * volts, lambda volts: vih * volts, leakage_a, True, 10.0)


def sharp_coupler() -> Coupler:
    """Return the coupler of the worked examples: VF 1.0 to 1.4 V without a knee, ratio 0.5 × 0.6 × 0.7 to 6."""
    return Coupler(
        name="sharp coupler",
        both_ways=False,
        forward=Span(1.0, 1.4),
        knee=Knee.sharp(1.0),
        ratio_least=0.5 * 0.6 * 0.7,
        ratio_greatest=6.0,
        dark_amps=0.0,
        forward_amps_most=50e-3,
        reverse_volts_most=5.0,
        press_s=18e-6,
        release_s_per_ohm=6 * 22e-6 / 3.3e3,
    )


def sharp_zener(volts: Span) -> Threshold:
    """Return a zener that conducts nothing below its least voltage."""
    return Threshold("sharp zener", volts, Knee.sharp(volts.least), 5e-3, 0.5)


def sharp_network(*, zener: Span | None, pull_up_ohms: float) -> OptoNetwork:
    """Return the network of the worked examples: 4.7 kΩ and a pull-up, both 5 %."""
    threshold = NO_THRESHOLD if zener is None else sharp_zener(zener)
    return OptoNetwork(sharp_coupler(), Span.around(4.7e3, 0.05), threshold, None, Span.around(pull_up_ohms, 0.05))


def judged(design: SenseDesign, criterion: str) -> Judged:
    """Return the one figure of a design with this criterion."""
    found = [entry for entry in design.judged if entry.criterion == criterion]
    assert len(found) == 1, [entry.criterion for entry in design.judged]
    return found[0]


def without(line: Line, *names: str) -> Line:
    """Return the line with these figures not measured."""
    unmeasured: dict[str, Any] = dict.fromkeys(names)
    return replace(line, **unmeasured)
