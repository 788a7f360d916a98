"""Lines that no circuit which reads a steady level may touch."""

from __future__ import annotations

import pytest

from retrofit.circuits.line.classes import LineClass
from retrofit.circuits.line.classify import Classified, Confidence
from retrofit.circuits.sense.design import Felt, SenseDesign
from retrofit.plan.sensing.candidates import Candidate
from retrofit.plan.sensing.line_classes import CONTRADICTED, REASONS, refused_by_class
from retrofit.survey.wishes import Sense
from tests.plan.jobs import GREAT, HEAD, ORGANS, keys, plan_of

DESIGN = SenseDesign("a circuit", True, True, (), (), Felt(0.0, 0.0, 0.0, 0.0, 0.0, 0.0))
READING = """
[[groups.wiring.readings]]
line = "great.36"
state = "{state}"
load = "{load}"
volts = "{volts}"
ac_volts = "{ac}"
date = 2026-01-31
initials = "AB"
"""


def _named(line_class: LineClass | None) -> Classified:
    return Classified(line_class, Confidence.SURE)


@pytest.mark.parametrize("line_class", list(REASONS))
def test_such_a_line_is_refused_to_every_circuit_but_a_sensor(line_class: LineClass) -> None:
    """The class speaks first; a sensor that touches no wire stays permitted."""
    refused = refused_by_class(Candidate(Sense.DIVIDER, DESIGN), _named(line_class))
    assert refused.design.refusals == (REASONS[line_class],)
    assert refused_by_class(Candidate(Sense.SENSOR, DESIGN), _named(line_class)).design.refusals == ()


@pytest.mark.parametrize("found", [None, _named(None), _named(LineClass.POSITIVE), _named(LineClass.UNFILTERED)])
def test_a_line_that_was_not_read_or_is_ordinary_is_not_refused(found: Classified | None) -> None:
    """A class that is not known refuses nothing: the circuits' own questions stay open."""
    candidate = Candidate(Sense.DIVIDER, DESIGN)
    assert refused_by_class(candidate, found) is candidate


def test_readings_that_contradict_each_other_refuse_every_circuit() -> None:
    """A line that shows more volts with a resistor to return than without one was not read rightly."""
    readings = READING.format(state="keyed", load="meter", volts="12,4 V", ac="0,0 V") + READING.format(
        state="keyed", load="100k", volts="14,0 V", ac="0,0 V"
    )
    sensed = plan_of(HEAD + GREAT + keys() + ORGANS + readings).sensing[0]
    assert sensed.chosen is None
    assert all(design.refusals[0].startswith(CONTRADICTED) for design in sensed.refused)


def test_a_floating_line_gets_no_circuit_before_its_bleeder() -> None:
    """A line that wanders and falls to nothing with 1 MΩ shows the meter's volts, not its own."""
    readings = (
        READING.format(state="idle", load="meter", volts="wanders", ac="0,4 V")
        + READING.format(state="idle", load="1M", volts="0,02 V", ac="0,0 V")
        + READING.format(state="keyed", load="meter", volts="wanders", ac="0,4 V")
        + READING.format(state="keyed", load="1M", volts="0,02 V", ac="0,0 V")
    )
    wiring = ORGANS.replace('idle = { volts = "0,0 V" }\n', "").replace('keyed = { volts = "12,4 V" }\n', "")
    sensed = plan_of(HEAD + GREAT + keys() + wiring + readings).sensing[0]
    assert sensed.line_class == LineClass.FLOATING.value
    assert sensed.chosen is None
    assert all(REASONS[LineClass.FLOATING] in design.refusals for design in sensed.refused)


@pytest.mark.parametrize(
    ("line_class", "refused"), [(LineClass.WIPER, False), (LineClass.AUDIO, False), (LineClass.DATA, True)]
)
def test_a_line_that_moves_by_degrees_suits_the_converter(line_class: LineClass, refused: bool) -> None:
    """The buffer to a converter, which no wish names, is kept from other such lines but not from a wiper."""
    buffer = refused_by_class(Candidate(Sense.UNKNOWN, DESIGN), _named(line_class))
    assert bool(buffer.design.refusals) is refused
