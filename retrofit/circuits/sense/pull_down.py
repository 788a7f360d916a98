"""A contact of ours to the logic supply with a pull-down to ground."""

from __future__ import annotations

from retrofit.catalogue.parts import Contact
from retrofit.circuits.pullup import closed_amps
from retrofit.circuits.quantity import quantity
from retrofit.circuits.result import Result, Span, worst_corner
from retrofit.circuits.sense.design import Felt, Judged, Part, SenseDesign
from retrofit.circuits.sense.limits import (
    CONTACT_OHMS_OLD,
    HIGH_MARGIN_SHARE,
    LOW_MARGIN_GOOD_SHARE,
    LOW_MARGIN_SHARE,
    WETTING_AMPS,
    WETTING_VOLTS,
)
from retrofit.circuits.sense.line import Line
from retrofit.circuits.sense.logic_input import LogicInput
from retrofit.circuits.sense.our_contact import fed_ua, our_line_refusals, rc_remarks, rc_us

CIRCUIT = "contact with pull-down"
PULL_DOWN_OHMS = 10e3
PULL_DOWN_TOLERANCE = 0.05
_UNITS = {"supply": "V", "pull_down": "Ω", "series": "Ω", "contact": "Ω"}


def design(
    line: Line,
    logic: LogicInput,
    *,
    contact: Contact | None = None,
    contact_ohms_wanted: float = CONTACT_OHMS_OLD,
    pull_down_ohms: float = PULL_DOWN_OHMS,
    series_ohms: Span | None = None,
    cable_pf: float | None = None,
) -> SenseDesign:
    """Return the contact of a line of ours, to our supply; a line of the organ is refused."""
    pull, series = Span.around(pull_down_ohms, PULL_DOWN_TOLERANCE), series_ohms or Span.exact(0.0)
    spans = {"supply": logic.supply, "pull_down": pull, "series": series}
    measured = line.keyed_ohms
    closed = Span.exact(contact_ohms_wanted) if measured is None else measured
    assumed = (f"the closed contact is taken as {quantity(contact_ohms_wanted, 'Ω')}",) if measured is None else ()
    farads = 1e-12 * ((logic.capacitance_pf or 0.0) + (cable_pf or 0.0))
    return SenseDesign(
        circuit=CIRCUIT,
        looks_only=False,
        keyed_reads_high=True,
        parts=(Part("from the line to ground", "resistor", pull_down_ohms, "Ω", PULL_DOWN_TOLERANCE),),
        judged=(
            _low_level(logic, pull),
            _high_level(logic, spans | {"contact": closed}, assumed),
            _contact_tolerance(logic, spans, contact_ohms_wanted),
            _wetting_volts(logic, contact),
            _wetting_current(spans | {"contact": closed}, contact, assumed),
        ),
        felt=_felt(logic, pull, series, measured),
        press_delay_us=_rise_us(logic, pull, series.greatest + closed.greatest, farads),
        release_delay_us=max(
            rc_us(pull.greatest, farads, volts, 0.0, logic.vil(volts)) for volts in _ends(logic.supply)
        ),
        refusals=our_line_refusals(line),
        remarks=rc_remarks(logic, cable_pf),
    )


def high_volts(supply: float, pull_down: float, series: float, contact: float, leakage: float = 0.0) -> float:
    """Return the level of a closed contact: (VDD/(Rc + Rs) − I)·(Rpd ∥ (Rc + Rs)), free of division by 0 Ω."""
    above = series + contact
    return (supply - leakage * above) * pull_down / (pull_down + above)


def largest_contact_ohms(supply: float, pull_down: float, series: float, high_limit: float, leakage: float) -> float:
    """Return the largest contact that still reads high: Rpd·(VDD − V)/(V + I·Rpd) − Rs."""
    return pull_down * (supply - high_limit) / (high_limit + leakage * pull_down) - series


def _low_level(logic: LogicInput, pull: Span) -> Judged:
    def margin(supply: float, pull_down: float) -> float:
        return 100 * (logic.vil(supply) - logic.leakage_a * pull_down) / supply

    value, corner = worst_corner(margin, lowest=True, units=_UNITS, supply=logic.supply, pull_down=pull)
    result = Result(value, 100 * LOW_MARGIN_SHARE, "% of supply", at_least=True, corner=corner)
    return Judged("low level at the input", result, good_from=100 * (LOW_MARGIN_GOOD_SHARE - LOW_MARGIN_SHARE))


def _high_level(logic: LogicInput, spans: dict[str, Span], assumed: tuple[str, ...]) -> Judged:
    def margin(supply: float, pull_down: float, series: float, contact: float) -> float:
        level = high_volts(supply, pull_down, series, contact, logic.leakage_a)
        return 100 * (level - logic.vih(supply)) / supply

    value, corner = worst_corner(margin, lowest=True, units=_UNITS, **spans)
    limit = 100 * HIGH_MARGIN_SHARE
    result = Result(value, limit, "% of supply", at_least=True, corner=corner, assumptions=assumed)
    return Judged("high level at the input", result)


def _contact_tolerance(logic: LogicInput, spans: dict[str, Span], wanted: float) -> Judged:
    def largest(supply: float, pull_down: float, series: float) -> float:
        return largest_contact_ohms(supply, pull_down, series, logic.vih(supply), logic.leakage_a)

    value, corner = worst_corner(largest, lowest=True, units=_UNITS, **spans)
    return Judged("largest contact resistance read", Result(value, wanted, "Ω", at_least=True, corner=corner))


def _wetting_volts(logic: LogicInput, contact: Contact | None) -> Judged:
    own = contact.least_volts if contact else None
    limit = WETTING_VOLTS if own is None else own.least
    volts = logic.supply.least
    return Judged(
        "volts that wet the contact", Result(volts, limit, "V", at_least=True, corner=f"supply {quantity(volts, 'V')}")
    )


def _wetting_current(spans: dict[str, Span], contact: Contact | None, assumed: tuple[str, ...]) -> Judged:
    def amps(supply: float, pull_down: float, series: float, contact: float) -> float:
        return closed_amps(supply, pull_down, series, contact)

    own = contact.least_ma if contact else None
    limit_ma = 1e3 * WETTING_AMPS if own is None else own.least
    value, corner = worst_corner(amps, lowest=True, units=_UNITS, **spans)
    result = Result(1e3 * value, limit_ma, "mA", at_least=True, corner=corner, assumptions=assumed)
    return Judged("current that wets the contact", result)


def _felt(logic: LogicInput, pull: Span, series: Span, measured: Span | None) -> Felt:
    contact = measured.least if measured else 0.0
    on_ua = -1e6 * closed_amps(logic.supply.greatest, pull.least, series.least, contact)
    shorted = fed_ua(logic.supply.greatest, series.least + contact)
    return Felt(on_ua, 0.0, 0.0, 0.0, None if shorted is None else -shorted, 0.0)


def _rise_us(logic: LogicInput, pull: Span, above: float, farads: float) -> float:
    share = pull.least / (pull.least + above)
    return max(rc_us(above * share, farads, 0.0, volts * share, logic.vih(volts)) for volts in _ends(logic.supply))


def _ends(span: Span) -> tuple[float, float]:
    return span.least, span.greatest
