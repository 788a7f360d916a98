"""Lines, inputs and networks that the tests of the taps share."""

from __future__ import annotations

from retrofit.catalogue.load import load_catalogue
from retrofit.circuits.result import Result, Span
from retrofit.circuits.sense.design import Judged, SenseDesign
from retrofit.circuits.sense.line import Line
from retrofit.circuits.sense.logic_input import LogicInput, register_input
from retrofit.circuits.sense.swing import Swing, swing_of
from retrofit.circuits.sense.tap_network import TapNetwork

CATALOGUE = load_catalogue()
REGISTER_INPUT = register_input(CATALOGUE.boards["atmega2560"], CATALOGUE.registers["74hc165"])
SCHMITT_3V3 = LogicInput("Schmitt input", Span.exact(3.3), lambda _: 0.6, lambda _: 2.2, 0.0, True, 30.0, schmitt=True)
"""The assumed input of the worked examples: 3.3 V, falling threshold 0.6 V at least, rising 2.2 V at most."""

STIFF = GROUND = Span.exact(0.0)
IDLE_VOLTS, KEYED_VOLTS = Span(0.0, 1.5), Span(10.5, 15.5)
IDLE_OHMS, KEYED_OHMS = Span(0.0, 10e3), Span(0.0, 10.0)


def line(
    idle: Span | None = IDLE_VOLTS,
    keyed: Span | None = KEYED_VOLTS,
    *,
    idle_ohms: Span | None = IDLE_OHMS,
    keyed_ohms: Span | None = KEYED_OHMS,
    keyed_amps: float | None = 1.2e-3,
    kick_volts: float | None = 0.0,
    carries_audio: bool | None = False,
    lines_at_once: int = 61,
) -> Line:
    """Return a line keyed to a bus of 12 V, or with what the test changes of it."""
    return Line(
        idle,
        keyed,
        idle_ohms,
        keyed_ohms,
        keyed_amps,
        kick_volts=kick_volts,
        carries_audio=carries_audio,
        lines_at_once=lines_at_once,
    )


def network(
    series: float,
    lower: float,
    *,
    reference: Span | None = GROUND,
    behind: LogicInput = SCHMITT_3V3,
    tolerance: float = 0.01,
) -> TapNetwork:
    """Return a tap with resistors of 1 %."""
    return TapNetwork(Span.around(series, tolerance), Span.around(lower, tolerance), reference, behind)


def swing(of: Line) -> Swing:
    """Return the states of a line that has two."""
    found = swing_of(of)
    assert found is not None
    return found


def judged(design: SenseDesign | tuple[Judged, ...], criterion: str) -> Judged:
    """Return the one judged figure of that name."""
    figures = design if isinstance(design, tuple) else design.judged
    (found,) = [figure for figure in figures if figure.criterion == criterion]
    return found


def result(design: SenseDesign | tuple[Judged, ...], criterion: str) -> Result:
    """Return the result of the one judged figure of that name, which must be known."""
    found = judged(design, criterion).result
    assert found is not None
    return found
