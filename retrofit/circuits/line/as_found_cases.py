"""The wirings that consoles are found with: the class that readings give each, and the question that they leave open.

`by_readings` marks those that the readings alone tell from all others; the rest share their class with another case,
and a question or the kind of group tells them apart.  All of it is common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

from retrofit.circuits.line.classes import LineClass

_L = LineClass


@dataclass(frozen=True, slots=True)
class AsFoundCase:
    """One wiring as found.  `question` is empty where readings alone settle it."""

    found: str
    line_class: LineClass
    question: str = ""

    @property
    def by_readings(self) -> bool:
        """True when no question is needed."""
        return not self.question


AS_FOUND_CASES: tuple[AsFoundCase, ...] = (
    AsFoundCase("key contact to a positive bus", _L.POSITIVE),
    AsFoundCase("key contact to the return bus, load to the supply", _L.RETURN),
    AsFoundCase("positive ground, negative bus", _L.NEGATIVE),
    AsFoundCase("diode gate with attack and decay capacitor", _L.DECAYING_GATE),
    AsFoundCase("bipolar or biased gate", _L.BIASED_GATE),
    AsFoundCase("key with several isolated leaves", _L.LEAVES),
    AsFoundCase("contacts that carry audio", _L.AUDIO),
    AsFoundCase("resistor in series with the contact", _L.THROUGH_RESISTOR),
    AsFoundCase("bus fed by a stop or its relay", _L.SWITCHED_BUS),
    AsFoundCase("stop tab on DC", _L.POSITIVE, "is it a tab that stays where it is put?"),
    AsFoundCase("stop tab that shunts audio", _L.SHUNTED_AUDIO),
    AsFoundCase("coil of a stop action with two coils", _L.MOVING_COIL, "do two equal coils move one tab?"),
    AsFoundCase("solenoid of a drawknob", _L.MOVING_COIL, "does the coil move a drawknob?"),
    AsFoundCase("thumb piston", _L.POSITIVE, "does it spring back, under a manual?"),
    AsFoundCase("toe stud", _L.POSITIVE, "does it spring back, at the pedals; is it one wire with a piston?"),
    AsFoundCase("indicator lamp across a stop line", _L.LAMP, "does the console move this control by itself?"),
    AsFoundCase("keyboard that is scanned already", _L.SCANNED),
    AsFoundCase("diode matrix without power", _L.DIODE_MATRIX),
    AsFoundCase("shoe with a potentiometer", _L.WIPER),
    AsFoundCase("shoe with lamp and light-dependent resistor", _L.CHANGING_RESISTOR),
    AsFoundCase("shoe with stepped contacts", _L.POSITIVE, "do further contacts close as the shoe opens?"),
    AsFoundCase("crescendo roller", _L.POSITIVE, "do 20 to 60 contacts close in turn on a drum?"),
    AsFoundCase("pedalboard with reed switches", _L.POSITIVE, "does a magnet near the switch close it?"),
    AsFoundCase("lamp of a tremulant", _L.PULSING),
    AsFoundCase("chest magnet on the console's cable", _L.COIL),
    AsFoundCase("unfiltered rectifier", _L.UNFILTERED),
    AsFoundCase("line whose load was removed", _L.FLOATING),
    AsFoundCase("line after a coupler relay", _L.POSITIVE, "does the line also move when coupled keys are played?"),
    AsFoundCase("electromechanical combination action", _L.MOVING_COIL, "do the tabs move when a piston is pressed?"),
    AsFoundCase("traps and toy counter", _L.COIL, "is it struck once for each press, and is its motor on the mains?"),
    AsFoundCase("sustain or knee lever, kick switch", _L.POSITIVE, "does one lever act on all notes?"),
    AsFoundCase("two bus sections or split feeds", _L.SPLIT_FEEDS),
    AsFoundCase("serial data line to a relay", _L.DATA),
)


def cases_of(line_class: LineClass) -> tuple[AsFoundCase, ...]:
    """Return the wirings whose readings look like a class."""
    return tuple(case for case in AS_FOUND_CASES if case.line_class is line_class)
