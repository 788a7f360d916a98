"""Lines as consoles are found with, one builder per case, with values drawn within what the trade meets.

The figures are common practice or from memory, no source.  A meter reads them with 1 % of noise, rounded to the digits
of a display of 2,000 counts.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import exp, inf, log, log10, sqrt
from random import Random
from typing import Any

from retrofit.circuits.line.evidence import LOAD_OHMS, Evidence, Structure, Taken
from retrofit.circuits.line.next_reading import Step
from retrofit.circuits.result import Span
from retrofit.survey.readings import Load, State
from tests.circuits.line.nodes import RETURN, Feed, Part, Resistor, node_volts, ohms_between

METER_OHMS = 10e6
BLEEDER = Resistor("post", RETURN, 470.0)
"""What a dead supply looks like from outside, through the rest of the organ."""


@dataclass(frozen=True)
class Found:
    """A line: its network, what the meter cannot compute from it, and the fall after release."""

    parts: tuple[Part, ...]
    fall_s: float = 0.004
    frequency_hz: float = 0.0
    diode: tuple[float, float] = (0.0, 0.0)
    leaves: int = 1
    bus_ohms: float | None = None
    moves: bool = False
    sweeps: bool = False
    wanders: bool = False
    other_share: float = 1.0
    at_bus: str = "post"


def _spread(random: Random, low: float, high: float) -> float:
    """Draw between two figures, evenly in their logarithm."""
    return exp(random.uniform(log(low), log(high)))


def _feed(random: Random, sign: float = 1.0, ac_share: float = 0.0005) -> tuple[Part, ...]:
    volts = sign * random.uniform(10.5, 15.5)
    return Feed("post", volts, abs(volts) * ac_share), Resistor("post", "bus", _spread(random, 0.1, 0.7)), BLEEDER


def _contact(a: str, b: str, random: Random) -> Resistor:
    return Resistor(a, b, _spread(random, 0.1, 1.0), "keyed")


def from_bus(random: Random, sign: float = 1.0) -> Found:
    """A contact between a fed bus and the input of a keyer; now and then a residue leaks past the open contact."""
    ohms = _spread(random, 2.4e3, 100e3)
    leak = (Resistor("bus", "line", ohms * random.uniform(8, 40)),) if random.random() < 0.5 else ()
    parts = (*_feed(random, sign), _contact("bus", "line", random), Resistor("line", RETURN, ohms), *leak)
    return Found(parts, other_share=random.uniform(0.92, 1.0))


def to_return(random: Random) -> Found:
    """A contact to return, the magnet or keyer to the supply."""
    load = Resistor("post", "line", random.choice([_spread(random, 50, 150), _spread(random, 2.4e3, 10e3)]))
    return Found((*_feed(random), load, _contact("line", RETURN, random)), bus_ohms=0.3)


def gate(random: Random) -> Found:
    """The capacitor side of a diode gate."""
    attack, drain = _spread(random, 10e3, 100e3), _spread(random, 300e3, 1e6)
    parts = (*_feed(random), _contact("bus", "a", random), Resistor("a", "line", attack))
    return Found((*parts, Resistor("line", RETURN, drain)), fall_s=_spread(random, 0.05, 1.0) * log(10))


def biased(random: Random) -> Found:
    """A gate held negative, pulled to zero or to plus by the key."""
    bias = Feed("bias", -random.uniform(5, 18))
    hold = Resistor("bias", "line", _spread(random, 22e3, 470e3))
    plus = random.random() < 0.5
    key = (_contact("bus", "line", random),) if plus else (_contact("line", RETURN, random),)
    return Found((*_feed(random), bias, hold, *key), at_bus="bias", bus_ohms=0.4)


def leaves(random: Random) -> Found:
    """One of several leaves of a key."""
    return replace(from_bus(random), leaves=random.randint(2, 16))


def audio(random: Random) -> Found:
    """A tone that the contact passes."""
    tone = Feed("tone", 0.0, _spread(random, 0.05, 1.0), _spread(random, 1e3, 30e3))
    parts = (tone, Resistor("tone", "bus", 1.0), _contact("bus", "line", random))
    return Found((*parts, Resistor("line", RETURN, _spread(random, 47e3, 1e6))), frequency_hz=_spread(random, 65, 2000))


def shunted(random: Random) -> Found:
    """A tone that the contact of a resting tab shunts."""
    tone = Feed("line", 0.0, _spread(random, 0.01, 1.0), _spread(random, 1e3, 100e3))
    return Found((tone, Resistor("line", RETURN, 0.4, "idle")), frequency_hz=_spread(random, 65, 2000))


def through_resistor(random: Random) -> Found:
    """A resistor at the contact."""
    series = _spread(random, 22e3, 1e6)
    parts = (*_feed(random), _contact("bus", "a", random), Resistor("a", "line", series))
    return Found((*parts, Resistor("line", RETURN, 10 * series)))


def switched_bus(random: Random) -> Found:
    """A bus behind a stop that is off when the power is."""
    return replace(from_bus(random), bus_ohms=inf)


def coil(random: Random, low: float = 70, high: float = 250) -> Found:
    """A magnet from the line to return."""
    load = Resistor("line", RETURN, _spread(random, low, high))
    return Found((*_feed(random), _contact("bus", "line", random), load))


def moved(random: Random, low: float, high: float) -> Found:
    """A coil that moves a tab or knob."""
    return replace(coil(random, low, high), moves=True)


def lamp(random: Random) -> Found:
    """A lamp, cold when the power is off and ten times that when lit."""
    cold = _spread(random, 10, 30)
    hot = (_contact("bus", "line", random), Resistor("line", RETURN, cold, "idle"))
    return Found((*_feed(random), *hot, Resistor("line", RETURN, 10 * cold, "keyed")))


def scanned(random: Random) -> Found:
    """A sense line, pulled down, that gets one row's pulses when its key is down."""
    duty, volts = 1 / random.randint(4, 12), random.uniform(5, 15)
    strobe = Feed("strobe", volts * duty, volts * sqrt(duty * (1 - duty)), 100.0)
    parts = (strobe, _contact("strobe", "line", random), Resistor("line", RETURN, _spread(random, 4.7e3, 47e3)))
    return Found(parts, frequency_hz=_spread(random, 200, 10e3))


def dead_matrix(random: Random) -> Found:
    """A keyboard with one diode per key, without power."""
    return Found((Resistor("line", RETURN, 1e8),), diode=(random.uniform(0.45, 0.75), inf))


def wiper(random: Random) -> Found:
    """A potentiometer with dead zones at both ends."""
    track, low, high = _spread(random, 5e3, 100e3), random.uniform(0.05, 0.1), random.uniform(0.88, 0.95)
    parts = [
        part
        for share, when in ((low, "idle"), (high, "keyed"))
        for part in (
            Resistor("bus", "line", (1 - share) * track, when),
            Resistor("line", RETURN, share * track, when),
        )
    ]
    return Found((*_feed(random), *parts), sweeps=True)


def light_resistor(random: Random) -> Found:
    """A resistor that falls with light, fed by a fixed one."""
    light, dark = _spread(random, 1.5e3, 3e3), _spread(random, 100e3, 1e6)
    parts = (Resistor("bus", "line", 22e3), Resistor("line", RETURN, light, "idle"))
    return Found((*_feed(random), *parts, Resistor("line", RETURN, dark, "keyed")), sweeps=True)


def tremulant(random: Random) -> Found:
    """A lamp that is lit half the time."""
    volts = random.uniform(6, 12)
    return Found((Feed("line", volts / 2, volts / 2, 10.0),), frequency_hz=random.uniform(5, 7))


def unfiltered(random: Random) -> Found:
    """Full-wave half waves: DC 0.9 and ripple 0.435 of the transformer's volts."""
    winding = random.uniform(11, 14)
    feed = (Feed("post", 0.9 * winding, 0.435 * winding), Resistor("post", "bus", 0.3), BLEEDER)
    load = Resistor("line", RETURN, _spread(random, 2.4e3, 12e3))
    return Found((*feed, _contact("bus", "line", random), load), frequency_hz=random.choice([100.0, 120.0]))


def floating(random: Random) -> Found:
    """A line without a load: what the air puts on it, behind tens of megohms."""
    air = Feed("line", random.uniform(0.5, 3), random.uniform(0.3, 3), _spread(random, 20e6, 60e6))
    parts = (*_feed(random), _contact("bus", "line", random), air)
    return Found(parts, frequency_hz=random.choice([50.0, 60.0]), wanders=random.random() < 0.5)


def split(random: Random) -> Found:
    """A group whose treble hangs on another feed."""
    return replace(from_bus(random), other_share=random.choice([0.0, 0.5, 0.65]))


def data_line(random: Random) -> Found:
    """A pair that is high half the time, too fast for the meter."""
    return Found((Feed("line", random.uniform(2.2, 2.8), 0.0, 120.0),))


BUILDERS: tuple[Callable[[Random], Found], ...] = (
    from_bus,
    to_return,
    lambda random: from_bus(random, -1.0),
    gate,
    biased,
    leaves,
    audio,
    through_resistor,
    switched_bus,
    from_bus,
    shunted,
    lambda random: moved(random, 25, 60),
    lambda random: moved(random, 10, 40),
    from_bus,
    from_bus,
    lamp,
    scanned,
    dead_matrix,
    wiper,
    light_resistor,
    from_bus,
    from_bus,
    from_bus,
    tremulant,
    coil,
    unfiltered,
    floating,
    from_bus,
    lambda random: moved(random, 25, 60),
    lambda random: coil(random, 70, 200),
    from_bus,
    split,
    data_line,
)
"""One builder per as-found case, in the order of the table of cases; those that look alike share one."""


class Bench:
    """A person with a meter at one line: carries out steps and writes down what the display shows."""

    def __init__(self, found: Found, random: Random) -> None:
        self.found = found
        self.random = random
        self.evidence = Evidence(meter_ohms=METER_OHMS)

    def take(self, step: Step) -> None:
        """Carry out one step."""
        if step.state is not None and step.load is not None:
            self._read(step.state, step.load)
        elif step.key == "other-line":
            volts = self._shown(self.found.other_share * self._volts(State.KEYED, Load.METER, ac=False))
            error = self._error(volts)
            self.evidence = replace(self.evidence, other_lines_volts=(Span(volts - error, volts + error),))
        else:
            self.evidence = replace(self.evidence, structure=self._answered(step.key))

    def _read(self, state: State, load: Load) -> None:
        volts = self._shown(self._volts(state, load, ac=False))
        ac = self._shown(abs(self._volts(state, load, ac=True))) if load is Load.METER else None
        wanders = self.found.wanders and state is State.IDLE and load is Load.METER
        taken = Taken(state, load, None if wanders else volts, self._error(volts), ac, wanders)
        self.evidence = replace(self.evidence, taken=(*self.evidence.taken, taken))

    def _volts(self, state: State, load: Load, *, ac: bool) -> float:
        parts = [*self._in_state(state), Resistor("line", RETURN, METER_OHMS)]
        if load in LOAD_OHMS:
            parts.append(Resistor("line", RETURN, LOAD_OHMS[load]))
        if load is Load.TO_SUPPLY:
            parts.append(Resistor("line", "post", 10e3))
        return node_volts(parts, "line", ac=ac)

    def _in_state(self, state: State) -> list[Part]:
        return [p for p in self.found.parts if isinstance(p, Feed) or p.when in (None, state.value)]

    def _shown(self, volts: float) -> float:
        noisy = volts * (1 + self.random.uniform(-0.01, 0.01))
        digit = self._digit(noisy)
        return round(noisy / digit) * digit

    @staticmethod
    def _digit(volts: float) -> float:
        """Return the last digit of a display of 2,000 counts, a millivolt at least."""
        return max(1e-3, 10.0 ** (int(log10(max(abs(volts), 1e-3) / 1.999) + 100) - 100 - 2))

    def _error(self, volts: float) -> float:
        return 0.01 * abs(volts) + 2 * self._digit(volts)

    def _ohms(self, a: str, b: str, state: State = State.IDLE) -> float:
        ohms = ohms_between([p for p in self._in_state(state) if isinstance(p, Resistor)], a, b)
        return inf if ohms > 20e6 else ohms * (1 + self.random.uniform(-0.01, 0.01))

    def _answered(self, key: str) -> Structure:
        found = self.found
        answers: dict[str, Callable[[], dict[str, Any]]] = {
            "bus_to_supply": lambda: {"bus_to_supply_ohms": self._bus()},
            "line_to_return": lambda: {"line_to_return_ohms": self._ohms("line", RETURN)},
            "line_to_supply": lambda: {"line_to_supply_ohms": self._ohms("line", found.at_bus)},
            "series": lambda: {"series_ohms": self._series()},
            "diode": lambda: {"diode_forward_volts": found.diode[0], "diode_reverse_volts": found.diode[1]},
            "leaves": lambda: {"leaves": found.leaves},
            "fall_time": lambda: {"fall_time_s": found.fall_s},
            "frequency": lambda: {"frequency_hz": found.frequency_hz},
            "sweeps": lambda: {"sweeps": found.sweeps},
            "moves_by_itself": lambda: {"moves_by_itself": found.moves},
        }
        return replace(self.evidence.structure, **answers[key]())

    def _bus(self) -> float:
        return self._ohms("bus", "post") if self.found.bus_ohms is None else self.found.bus_ohms

    def _series(self) -> float:
        """A contact to return has its bus there."""
        to_return = any(
            isinstance(p, Resistor) and p.when == "keyed" and {p.a, p.b} == {"line", RETURN} for p in self.found.parts
        )
        return self._ohms("line", RETURN if to_return else "bus", State.KEYED)
