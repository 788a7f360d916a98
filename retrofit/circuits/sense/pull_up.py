"""A contact of ours to ground with a pull-up to the logic supply."""

from __future__ import annotations

from dataclasses import dataclass

from retrofit.catalogue.parts import Contact
from retrofit.circuits.pullup import (
    PULL_UP_OHMS,
    PULL_UP_TOLERANCE,
    PullUpResults,
    PullUpSense,
    closed_amps,
    judge_pull_up,
)
from retrofit.circuits.result import Span
from retrofit.circuits.sense.design import Felt, Judged, Part, SenseDesign
from retrofit.circuits.sense.limits import CONTACT_OHMS_OLD, LOW_MARGIN_GOOD_SHARE, LOW_MARGIN_SHARE
from retrofit.circuits.sense.line import Line
from retrofit.circuits.sense.logic_input import LogicInput
from retrofit.circuits.sense.our_contact import fed_ua, our_line_refusals, rc_remarks, rc_us

CIRCUIT = "contact with pull-up"


@dataclass(frozen=True, slots=True)
class EdgeFilter:
    """A resistor from the contact to the input and a capacitor from the input to ground."""

    series: Span
    farads: Span


NO_FILTER = EdgeFilter(Span.exact(0.0), Span.exact(0.0))


def design(
    line: Line,
    logic: LogicInput,
    *,
    contact: Contact | None = None,
    contact_ohms_wanted: float = CONTACT_OHMS_OLD,
    pull_up: Span | None = None,
    edge_filter: EdgeFilter | None = None,
    cable_pf: float | None = None,
) -> SenseDesign:
    """Return the contact of a line of ours, to our ground; a line of the organ is refused.

    `pull_up` is that of the pin where none is fitted.  The delays hold for cable that was measured; without it they
    are those of the input and the filter alone.
    """
    fitted, before = pull_up or Span.around(PULL_UP_OHMS, PULL_UP_TOLERANCE), edge_filter or NO_FILTER
    sense = PullUpSense(logic.supply, fitted, before.series, logic.vil, logic.vih, logic.leakage_a)
    closed = line.keyed_ohms
    results = judge_pull_up(
        sense,
        contact_ohms=None if closed is None else closed.greatest,
        contact=contact,
        contact_ohms_wanted=contact_ohms_wanted,
    )
    farads = before.farads.greatest + 1e-12 * ((logic.capacitance_pf or 0.0) + (cable_pf or 0.0))
    return SenseDesign(
        circuit=CIRCUIT,
        looks_only=False,
        keyed_reads_high=False,
        parts=_parts(pull_up, before),
        judged=_judged(results),
        felt=_felt(sense, closed),
        press_delay_us=_fall_us(sense, contact_ohms_wanted if closed is None else closed.greatest, farads),
        release_delay_us=_rise_us(sense, farads),
        refusals=our_line_refusals(line),
        remarks=rc_remarks(logic, cable_pf),
    )


def _parts(pull_up: Span | None, before: EdgeFilter) -> tuple[Part, ...]:
    parts = []
    if pull_up is None:
        parts.append(Part("from the line to the logic supply", "resistor", PULL_UP_OHMS, "Ω", PULL_UP_TOLERANCE))
    if before is not NO_FILTER:
        parts.append(_part("from the contact to the input", "resistor", before.series, "Ω"))
        parts.append(_part("from the input to ground", "capacitor", before.farads, "F"))
    return tuple(parts)


def _part(role: str, kind: str, span: Span, unit: str) -> Part:
    middle = (span.least + span.greatest) / 2
    return Part(role, kind, middle, unit, (span.greatest - middle) / middle)


def _judged(results: PullUpResults) -> tuple[Judged, ...]:
    good = 100 * (LOW_MARGIN_GOOD_SHARE - LOW_MARGIN_SHARE)
    return (
        Judged("low level at the input", results.low_level, good_from=good),
        Judged("high level at the input", results.high_level),
        Judged("largest contact resistance read", results.contact_tolerance),
        Judged("volts that wet the contact", results.wetting_volts),
        Judged("current that wets the contact", results.wetting_current),
    )


def _felt(sense: PullUpSense, closed: Span | None) -> Felt:
    contact = closed.least if closed else 0.0
    amps = closed_amps(sense.supply.greatest, sense.pull_up.least, sense.series.least, contact)
    shorted_rail = fed_ua(sense.supply.greatest, sense.series.least + contact)
    return Felt(-1e6 * amps, 0.0, 0.0, 0.0, 0.0, None if shorted_rail is None else -shorted_rail)


def _rise_us(sense: PullUpSense, farads: float) -> float:
    ohms = sense.pull_up.greatest + sense.series.greatest
    return max(rc_us(ohms, farads, 0.0, volts, sense.vih(volts)) for volts in _ends(sense.supply))


def _fall_us(sense: PullUpSense, contact: float, farads: float) -> float:
    """Return the longest fall through the contact and the filter's resistor against the pull-up."""
    pull, series = sense.pull_up.least, sense.series.greatest + contact
    share = series / (pull + series)
    return max(rc_us(pull * share, farads, volts, volts * share, sense.vil(volts)) for volts in _ends(sense.supply))


def _ends(span: Span) -> tuple[float, float]:
    return span.least, span.greatest
