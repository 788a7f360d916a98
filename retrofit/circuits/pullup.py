"""A contact to our ground with a pull-up to our supply: its levels, the contact that it tolerates, and wetting."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from retrofit.catalogue.parts import Board, Contact, Expander, Multiplexer, Register
from retrofit.circuits.result import Result, Span, worst_corner

PULL_UP_OHMS = 10e3
PULL_UP_TOLERANCE = 0.05
"""The resistor that is fitted to each line on the chain."""

LOW_MARGIN_SHARE = 0.05
HIGH_MARGIN_SHARE = 0.10
"""Shares of the supply by which a level must keep clear of the input's limit; common practice, no source."""
CONTACT_OHMS_OLD = 1e3
CONTACT_OHMS_NEW = 200.0
"""Contact resistance that must still be read rightly, old and new contacts; common practice, no source."""
WETTING_VOLTS = 3.0
WETTING_AMPS = 0.1e-3
"""What a silver contact wants to see; common practice, no source."""

_UNITS = {"supply": "V", "pull_up": "Ω", "series": "Ω", "contact": "Ω"}


@dataclass(frozen=True, slots=True)
class PullUpSense:
    """One sensed line.  `vil` and `vih` give the input's limits at a supply voltage; the rest are spans or limits."""

    supply: Span
    pull_up: Span
    series: Span
    vil: Callable[[float], float]
    vih: Callable[[float], float]
    leakage_a: float


@dataclass(frozen=True, slots=True)
class PullUpResults:
    """What is to be said of a pull-up contact; each result carries its own limit."""

    low_level: Result
    high_level: Result
    contact_tolerance: Result
    wetting_volts: Result
    wetting_current: Result


def low_volts(supply: float, pull_up: float, series: float, contact: float) -> float:
    """Return the level of a closed contact: VDD·(Rc + Rs)/(Rpu + Rc + Rs)."""
    return supply * (contact + series) / (pull_up + contact + series)


def closed_amps(supply: float, pull_up: float, series: float, contact: float) -> float:
    """Return the current through a closed contact: VDD/(Rpu + Rc + Rs)."""
    return supply / (pull_up + contact + series)


def largest_contact_ohms(supply: float, pull_up: float, series: float, low_limit: float) -> float:
    """Return the largest contact resistance that still reads low: V·Rpu/(VDD − V) − Rs."""
    return low_limit * pull_up / (supply - low_limit) - series


def sense_on_register(board: Board, register: Register, *, series: Span | None = None) -> PullUpSense:
    """Return a line on a register of the chain with the fitted pull-up resistor."""
    supply, celsius = board.figures["supply"], board.figures["ambient"].greatest
    return PullUpSense(
        supply=Span(supply.least, supply.greatest),
        pull_up=Span.around(PULL_UP_OHMS, PULL_UP_TOLERANCE),
        series=series or Span.exact(0.0),
        vil=lambda volts: register.vil_max.at(volts, celsius),
        vih=lambda volts: register.vih_min.at(volts, celsius),
        leakage_a=register.figures["input_current"].greatest,
    )


def sense_on_pin(board: Board, *, pull_up: Span | None = None, series: Span | None = None) -> PullUpSense:
    """Return a line on a pin of the board, with the board's own pull-up unless another is given."""
    figures = board.figures
    supply, own = figures["supply"], figures["pull_up"]
    return PullUpSense(
        supply=Span(supply.least, supply.greatest),
        pull_up=pull_up or Span(own.least, own.greatest),
        series=series or Span.exact(0.0),
        vil=lambda volts: figures["vil_fraction"].greatest * volts,
        vih=lambda volts: figures["vih_fraction"].least * volts,
        leakage_a=figures["leakage"].greatest,
    )


def sense_through_multiplexer(board: Board, multiplexer: Multiplexer) -> PullUpSense:
    """Return a line that a multiplexer joins to a pin of the board, with the fitted pull-up at the common."""
    on_ohms = multiplexer.figures["on_resistance"]
    fitted = Span.around(PULL_UP_OHMS, PULL_UP_TOLERANCE)
    return sense_on_pin(board, pull_up=fitted, series=Span(0.0, on_ohms.greatest))


def sense_on_expander(board: Board, expander: Expander) -> PullUpSense:
    """Return a line on an expander with the fitted pull-up resistor; its own weak one beside it is left out."""
    supply, figures = board.figures["supply"], expander.figures
    return PullUpSense(
        supply=Span(supply.least, supply.greatest),
        pull_up=Span.around(PULL_UP_OHMS, PULL_UP_TOLERANCE),
        series=Span.exact(0.0),
        vil=lambda volts: figures["vil_fraction"].greatest * volts,
        vih=lambda volts: figures["vih_fraction"].least * volts,
        leakage_a=figures["leakage"].greatest,
    )


def judge_pull_up(
    sense: PullUpSense,
    *,
    contact_ohms: float | None,
    contact: Contact | None = None,
    contact_ohms_wanted: float = CONTACT_OHMS_OLD,
) -> PullUpResults:
    """Return every result of one line at its worst corners.

    `contact_ohms` is the contact's greatest measured resistance; without it the levels are computed for the resistance
    that must be tolerated, and say so.  `contact` brings what its surface wants.
    """
    assumed = () if contact_ohms is not None else (f"the closed contact is taken as {contact_ohms_wanted:g} Ω",)
    closed = Span.exact(contact_ohms_wanted if contact_ohms is None else contact_ohms)
    return PullUpResults(
        low_level=_low_level(sense, closed, assumed),
        high_level=_high_level(sense),
        contact_tolerance=_contact_tolerance(sense, contact_ohms_wanted),
        wetting_volts=_wetting_volts(sense, contact),
        wetting_current=_wetting_current(sense, closed, contact, assumed),
    )


def _low_level(sense: PullUpSense, closed: Span, assumed: tuple[str, ...]) -> Result:
    def margin(supply: float, pull_up: float, series: float, contact: float) -> float:
        return 100 * (sense.vil(supply) - low_volts(supply, pull_up, series, contact)) / supply

    spans = {"supply": sense.supply, "pull_up": sense.pull_up, "series": sense.series, "contact": closed}
    value, corner = worst_corner(margin, lowest=True, units=_UNITS, **spans)
    return Result(value, 100 * LOW_MARGIN_SHARE, "% of supply", at_least=True, corner=corner, assumptions=assumed)


def _high_level(sense: PullUpSense) -> Result:
    def margin(supply: float, pull_up: float) -> float:
        return 100 * (supply - sense.leakage_a * pull_up - sense.vih(supply)) / supply

    value, corner = worst_corner(margin, lowest=True, units=_UNITS, supply=sense.supply, pull_up=sense.pull_up)
    return Result(value, 100 * HIGH_MARGIN_SHARE, "% of supply", at_least=True, corner=corner)


def _contact_tolerance(sense: PullUpSense, wanted: float) -> Result:
    def largest(supply: float, pull_up: float, series: float) -> float:
        return largest_contact_ohms(supply, pull_up, series, sense.vil(supply))

    spans = {"supply": sense.supply, "pull_up": sense.pull_up, "series": sense.series}
    value, corner = worst_corner(largest, lowest=True, units=_UNITS, **spans)
    return Result(value, wanted, "Ω", at_least=True, corner=corner)


def _wetting_volts(sense: PullUpSense, contact: Contact | None) -> Result:
    own = contact.least_volts if contact else None
    limit = WETTING_VOLTS if own is None else own.least
    return Result(sense.supply.least, limit, "V", at_least=True, corner=f"supply {sense.supply.least:g} V")


def _wetting_current(sense: PullUpSense, closed: Span, contact: Contact | None, assumed: tuple[str, ...]) -> Result:
    own = contact.least_ma if contact else None
    limit_ma = WETTING_AMPS * 1e3 if own is None else own.least
    spans = {"supply": sense.supply, "pull_up": sense.pull_up, "series": sense.series, "contact": closed}
    amps, corner = worst_corner(closed_amps, lowest=True, units=_UNITS, **spans)
    return Result(amps * 1e3, limit_ma, "mA", at_least=True, corner=corner, assumptions=assumed)
