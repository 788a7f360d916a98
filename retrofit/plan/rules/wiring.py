"""Rules about what was found, and about what was not: an unknown that decides something is always said."""

from __future__ import annotations

from collections.abc import Iterator

from retrofit.plan.facts import Facts
from retrofit.plan.model import Severity
from retrofit.plan.polarity import keyed_reads_high, sense_of
from retrofit.plan.rules.rule import Rule, Said
from retrofit.survey.contacts import Condition, GroupBase, ShoeGroup, ShoeSensor
from retrofit.survey.points import Point, PointKind
from retrofit.survey.wiring import Owner
from retrofit.survey.wishes import Interface, Sense


def _groups_with_contacts(facts: Facts) -> Iterator[tuple[GroupBase, Interface]]:
    for group in facts.job.groups:
        interface = facts.interface_of(group.id)
        if interface is not None:
            yield group, interface


def _owner_unknown(facts: Facts) -> Iterator[Said]:
    for group in facts.job.groups:
        if group.wiring.owner is Owner.UNKNOWN:
            yield Said(
                f"groups.{group.id}.wiring.owner",
                "the owner of the lines is unknown",
                "organ, or us when nothing of the organ feeds them any more",
                "read one line idle and keyed with everything of ours taken off, then say who feeds it",
            )


def _sense_unknown(facts: Facts) -> Iterator[Said]:
    for group, interface in _groups_with_contacts(facts):
        if sense_of(group, interface) is Sense.UNKNOWN and group.wiring.owner is Owner.ORGAN:
            yield Said(
                f"groups.{group.id}.wanted.sense",
                "how the organ's lines become logic levels is not chosen",
                "optocoupler or divider on lines that the organ owns",
                "choose one; a keyer line of about a milliampere wants the divider, a magnet line bears either",
            )


def _polarity_unknown(facts: Facts) -> Iterator[Said]:
    for group, interface in _groups_with_contacts(facts):
        if sense_of(group, interface) is Sense.UNKNOWN and group.wiring.owner is Owner.ORGAN:
            continue
        if keyed_reads_high(group, interface) is None:
            yield Said(
                f"groups.{group.id}.wanted.keyed_reads_high",
                "neither the idle and keyed volts nor a statement settles whether a keyed line reads high or low",
                "true or false",
                "read one line idle and keyed, or set keyed_reads_high",
            )


def _polarity_contradicts(facts: Facts) -> Iterator[Said]:
    for group, interface in _groups_with_contacts(facts):
        stated = group.wanted.keyed_reads_high
        silent = group.model_copy(update={"wanted": group.wanted.model_copy(update={"keyed_reads_high": None})})
        implied = keyed_reads_high(silent, interface)
        if stated is not None and implied is not None and stated != implied:
            yield Said(
                f"groups.{group.id}.wanted.keyed_reads_high",
                f"{_level(stated)} is stated, and the readings with this way of sensing give {_level(implied)}",
                "the two agree",
                "read the line again, or take the statement out",
            )


def _level(high: bool) -> str:
    return "keyed reads high" if high else "keyed reads low"


def _supply_unread(facts: Facts) -> Iterator[Said]:
    for supply in facts.job.supplies:
        unread = [
            word
            for word, reading in (
                ("at rest", supply.volts_rest),
                ("in ordinary playing", supply.volts_typical),
                ("with everything on", supply.volts_full),
            )
            if not reading.known
        ]
        if unread and facts.job.originals.preserved:
            yield Said(
                f"supplies.{supply.id}",
                f"the volts {' and '.join(unread)} are unknown",
                "all three, because an old supply may read 15.5 V at rest and 10.5 V in full organ",
                "read them with the meter fixed by clips, hands off",
            )


def _readings_missing(facts: Facts) -> Iterator[Said]:
    for group in facts.job.groups:
        wiring = group.wiring
        if wiring.owner is not Owner.ORGAN:
            continue
        missing = [word for word, state in (("idle", wiring.idle), ("keyed", wiring.keyed)) if not state.volts.known]
        if missing:
            yield Said(
                f"groups.{group.id}.wiring",
                f"the {' and '.join(missing)} volts of a line are unknown",
                "both states of at least one line, with the meter alone",
                "read them before anything is connected; the meter loads least",
            )


def _bounce_assumed(facts: Facts) -> Iterator[Said]:
    for group_id, bounce in facts.bounce.items():
        if bounce.measured_ms is None:
            yield Said(
                f"groups.{group_id}.wiring.bounce",
                f"the bounce is not measured; {facts.debounce[group_id].reasons[0]}",
                "the worst of about 20 strokes, measured",
                "measure it, or name the kind of contact",
            )


def _cable_assumed(facts: Facts) -> Iterator[Said]:
    for subject, assumed in facts.assumptions:
        yield Said(
            subject,
            assumed,
            "a length in metres",
            "measure the run from the contacts to where the board will sit",
        )


def _shoe_ends(facts: Facts) -> Iterator[Said]:
    for group in facts.job.groups:
        if not isinstance(group, ShoeGroup):
            continue
        for shoe in group.points:
            ends = shoe.curve or (shoe.closed_reading is not None and shoe.open_reading is not None)
            if shoe.sensor is not ShoeSensor.STEPS and not ends:
                yield Said(
                    f"groups.{group.id}.points.{shoe.id}",
                    "the readings with the shoe closed and open are unknown; the converter's whole span is used",
                    "closed_reading and open_reading as fractions of full scale, or a curve",
                    "move the shoe to both stops once the board is fitted, and write down what it reads",
                )


_FAULTY = {
    Condition.DEAD: ("the contact is dead", "clean or mend it before wiring, or mark it left-out"),
    Condition.CIPHERING: ("the contact is always on", "free it before wiring; it is muted at power-on until it opens"),
}


def _faulty_points(facts: Facts) -> Iterator[Said]:
    for plan in facts.points:
        condition = plan.point.found.condition
        if condition in _FAULTY and plan.point.kind is not PointKind.STAGE:
            found, remedy = _FAULTY[condition]
            yield Said(plan.point.id, f"{found}{_beside(plan.point)}", "a sound contact", remedy)


def _beside(point: Point) -> str:
    last = point.found.notes[-1] if point.found.notes else None
    return f" ({last.date.isoformat()} {last.initials}: {last.text})" if last else ""


RULES = (
    Rule(
        "owner-unknown",
        "Nobody has said who owns these lines",
        Severity.ERROR,
        "the owner of a group's lines",
        _owner_unknown,
        locked=True,
    ),
    Rule(
        "sense-not-chosen",
        "The way of sensing is not chosen",
        Severity.ERROR,
        "owner and way of sensing",
        _sense_unknown,
    ),
    Rule(
        "polarity-unknown",
        "Nothing settles which level means on",
        Severity.ERROR,
        "readings, way of sensing and statement",
        _polarity_unknown,
    ),
    Rule(
        "polarity-contradicts-readings",
        "The stated level contradicts the readings",
        Severity.WARNING,
        "keyed_reads_high with the idle and keyed volts",
        _polarity_contradicts,
    ),
    Rule(
        "supply-not-read",
        "A supply was not read in all three states",
        Severity.WARNING,
        "volts at rest, in ordinary playing and with everything on",
        _supply_unread,
    ),
    Rule(
        "line-not-read",
        "A line of the organ was not read in both states",
        Severity.WARNING,
        "idle and keyed volts of lines that the organ owns",
        _readings_missing,
    ),
    Rule("contact-faulty", "A contact is known to be faulty", Severity.WARNING, "condition as found", _faulty_points),
    Rule("bounce-not-measured", "The bounce is not measured", Severity.NOTE, "measured bounce", _bounce_assumed),
    Rule("cable-not-measured", "A cable was not measured", Severity.NOTE, "cable length", _cable_assumed),
    Rule("shoe-ends-not-read", "A shoe's ends were not read", Severity.NOTE, "closed and open readings", _shoe_ends),
)
