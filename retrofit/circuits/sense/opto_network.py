"""The resistor, threshold element and LED of an optocoupler input, and the pull-up at its output: currents and volts.

line ── series resistor ── zener ──┬── LED ──┬── return        supply ── pull-up ──┬── input
                                   └─ bypass ┘                              collector (emitter to ground)
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import inf

from retrofit.catalogue.isolators import Optocoupler, Zener
from retrofit.circuits.result import Span
from retrofit.circuits.sense.knee import Knee

LOW_VOLTS_WANTED = 0.4
"""Output voltage that counts as pulled low; common practice, no source."""
CELSIUS = Span(0.0, 50.0)
_PRINTED_CELSIUS = 25.0
"""Inside a console, and where zener voltages are printed; common practice, no source."""
_JUNCTION_VOLTS_MOST = 1.0
"""Greatest forward voltage of a zener at a few milliamperes; common practice, no source."""
_HALVINGS = 34


@dataclass(frozen=True, slots=True)
class Coupler:
    """An optocoupler as a circuit sees it.

    `ratio_least` is at the end of its life, hot and at a low current; `ratio_greatest` is None where no maker prints
    it.  `release_s_per_ohm` is the slowest turn-off for each ohm of pull-up.
    """

    name: str
    both_ways: bool
    forward: Span
    knee: Knee
    ratio_least: float
    ratio_greatest: float | None
    dark_amps: float
    forward_amps_most: float
    reverse_volts_most: float | None
    press_s: float
    release_s_per_ohm: float

    @classmethod
    def of(cls, part: Optocoupler) -> Coupler:
        """Return the catalogue part at its worst.  Raises `CatalogueError` when a figure that it needs is missing."""
        figures = part.figures
        least = figures["forward_volts_least"].least
        shares = figures["temperature_share"].least * figures["age_share"].least
        spread = figures["turn_off"].greatest / figures["turn_off"].usual
        reverse = figures.get("reverse_volts")
        return cls(
            name=part.name,
            both_ways=part.both_ways,
            forward=Span(least, figures["forward_volts"].greatest),
            knee=Knee(
                figures["knee_current"].usual,
                figures["knee_volts"].least,
                figures["forward_current_of_volts"].usual,
                least,
            ),
            ratio_least=figures["transfer_ratio"].least * shares,
            ratio_greatest=figures["transfer_ratio"].max,
            dark_amps=figures["dark_current"].greatest,
            forward_amps_most=figures["forward_current"].greatest,
            reverse_volts_most=None if reverse is None else reverse.greatest,
            press_s=figures["turn_on"].greatest,
            release_s_per_ohm=spread * figures["release_with_pull_up"].usual / figures["pull_up_of_release"].usual,
        )


@dataclass(frozen=True, slots=True)
class Threshold:
    """A zener as a circuit sees it: its voltage over temperature, its knee, and the current at which it is printed."""

    name: str
    volts: Span
    knee: Knee
    test_amps: float
    watts: float

    @classmethod
    def of(cls, part: Zener) -> Threshold:
        """Return the catalogue part over the temperatures inside a console."""
        figures = part.figures
        drifts = [
            drift * (celsius - _PRINTED_CELSIUS)
            for drift in (figures["drift"].least, figures["drift"].greatest)
            for celsius in (CELSIUS.least, CELSIUS.greatest)
        ]
        volts = Span(figures["volts"].least + min(drifts), figures["volts"].greatest + max(drifts))
        test_amps = figures["test_current"].usual
        leakage = figures["leakage"].greatest * figures["leakage_when_hot"].greatest
        knee = Knee(leakage, figures["leakage_volts"].usual, test_amps, volts.least)
        return cls(part.name, volts, knee, test_amps, figures["power"].greatest)

    def back_to_back(self) -> Threshold:
        """Return two of them, one turned round: the second adds the forward voltage of its junction."""
        if self is NO_THRESHOLD:
            return self
        volts = Span(self.volts.least, self.volts.greatest + _JUNCTION_VOLTS_MOST)
        return replace(self, name=f"two {self.name} back to back", volts=volts)


NO_THRESHOLD = Threshold("none", Span.exact(0.0), Knee.sharp(0.0), inf, inf)


@dataclass(frozen=True, slots=True)
class OptoNetwork:
    """An optocoupler with its parts over their tolerances; `bypass` is None where nothing lies across the LED."""

    coupler: Coupler
    series: Span
    threshold: Threshold
    bypass: Span | None
    pull_up: Span

    @property
    def bypass_span(self) -> Span:
        """The resistance across the LED, infinite when there is none."""
        return self.bypass or Span.exact(inf)

    def line_volts(self, led_amps: float, bypass_ohms: float) -> float:
        """Return the least line voltage at which `led_amps` may flow through the LED."""
        led_volts = self.coupler.knee.volts_at(led_amps)
        amps = led_amps + led_volts / bypass_ohms
        return led_volts + self.threshold.knee.volts_at(amps) + amps * self.series.least

    def line_amps_most(self, volts: float) -> float:
        """Return the most current that `volts` can drive into the network."""
        led_amps = self.led_amps_most(volts, self.bypass_span.least)
        return led_amps + self.coupler.knee.volts_at(led_amps) / self.bypass_span.least

    def led_amps_most(self, volts: float, bypass_ohms: float) -> float:
        """Return the most current that `volts` can drive through the LED, by halving."""
        low, high = 0.0, max(0.0, volts) / self.series.least
        for _ in range(_HALVINGS):
            middle = (low + high) / 2
            low, high = (middle, high) if self.line_volts(middle, bypass_ohms) < volts else (low, middle)
        return high

    def idle_volts_allowed(self, led_amps: float) -> float:
        """Return the line voltage up to which no more than `led_amps` can flow through the LED."""
        return self.line_volts(led_amps, self.bypass_span.greatest)

    def driving_volts(self, led_amps: float, source_ohms: float) -> float:
        """Return the line voltage from which `led_amps` are sure to flow through the LED."""
        amps = led_amps + self.coupler.forward.greatest / self.bypass_span.least
        fixed = self.threshold.volts.greatest + self.coupler.forward.greatest
        return fixed + amps * (self.series.greatest + source_ohms)


def led_amps(line: float, source: float, series: float, zener: float, forward: float, bypass: float = inf) -> float:
    """Return the LED current of a driving line: (V − Vz − VF)/(R + Rs) − VF/Rb, never below nothing."""
    return max(0.0, (line - zener - forward) / (series + source) - forward / bypass)


def needed_amps(supply: float, pull_up: float, leakage: float) -> float:
    """Return the collector current that pulls the output low: (VDD − VOL)/Rpu + what the input gives out."""
    return (supply - LOW_VOLTS_WANTED) / pull_up + leakage


def allowed_amps(supply: float, vih: float, pull_up: float, leakage: float) -> float:
    """Return the collector current that still leaves the output high: (VDD − VIH)/Rpu − leakage."""
    return (supply - vih) / pull_up - leakage
