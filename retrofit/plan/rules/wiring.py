"""Rules about what was found, and about what was not: an unknown that decides something is always said."""

from __future__ import annotations

from collections.abc import Iterator

from retrofit.circuits.sense.design import Verdict
from retrofit.plan.facts import Facts
from retrofit.plan.model import Severity
from retrofit.plan.polarity import keyed_reads_high
from retrofit.plan.rules.rule import Rule, Said
from retrofit.survey.contacts import Condition, GroupBase, ShoeGroup, ShoeSensor
from retrofit.survey.points import Point, PointKind
from retrofit.survey.wiring import Owner
from retrofit.survey.wishes import Interface


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
    for group in facts.job.groups:
        sensed = facts.sensing_of(group.id)
        open_still = sensed is not None and sensed.chosen is None and sensed.verdict is Verdict.UNKNOWN
        if open_still and group.wiring.owner is Owner.ORGAN:
            yield Said(
                f"groups.{group.id}.wanted.sense",
                "how the organ's lines become logic levels cannot be chosen: too little of them was read",
                "idle and keyed volts of a line, from which a circuit is chosen, or a wish",
                "read one line idle and keyed with the meter alone",
            )


def _polarity_unknown(facts: Facts) -> Iterator[Said]:
    for group, interface in _groups_with_contacts(facts):
        sensed = facts.sensing_of(group.id)
        if group.wiring.owner is Owner.ORGAN and (sensed is None or sensed.chosen is None):
            continue
        if keyed_reads_high(group, interface, facts.chosen_level(group.id)) is None:
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
        implied = keyed_reads_high(silent, interface, facts.chosen_level(group.id))
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
        if wiring.owner is not Owner.ORGAN or facts.interface_of(group.id) is Interface.LISTEN:
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
            if shoe.sensor not in (ShoeSensor.STEPS, ShoeSensor.LADDER) and not ends:
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
        why=(
            "Everything about a line follows from who feeds it: what may be connected, what it must bear, and "
            "what may be cut."
        ),
        remedy="read a line idle and keyed with everything of ours taken off; volts that are there come from the organ",
    ),
    Rule(
        "sense-not-chosen",
        "The way of sensing is not chosen",
        Severity.ERROR,
        "owner and way of sensing",
        _sense_unknown,
        why="A line of the organ cannot be read until something turns its volts into a logic level without loading it.",
        remedy="choose divider or optocoupler by what the line can spare",
    ),
    Rule(
        "polarity-unknown",
        "Nothing settles which level means on",
        Severity.ERROR,
        "readings, way of sensing and statement",
        _polarity_unknown,
        why="Read the wrong way round, every note sounds at power-on and each key silences its own.",
        remedy="read one line idle and keyed, or say which level means on",
    ),
    Rule(
        "polarity-contradicts-readings",
        "The stated level contradicts the readings",
        Severity.WARNING,
        "keyed_reads_high with the idle and keyed volts",
        _polarity_contradicts,
        why="One of the two is wrong, and if it is the statement every note is inverted.",
        remedy="read the line again, and correct the one that is wrong",
    ),
    Rule(
        "supply-not-read",
        "A supply was not read in all three states",
        Severity.WARNING,
        "volts at rest, in ordinary playing and with everything on",
        _supply_unread,
        why=(
            "An old supply moves by half of its volts between rest and full organ; thresholds chosen from one "
            "reading fail at the others."
        ),
        remedy="read it at rest, in ordinary playing and with everything on",
    ),
    Rule(
        "line-not-read",
        "A line of the organ was not read in both states",
        Severity.WARNING,
        "idle and keyed volts of lines that the organ owns",
        _readings_missing,
        why=(
            "Without both states no threshold can be placed between them, and after the putback nothing can be "
            "compared."
        ),
        remedy="read idle and keyed with the meter alone, before anything is connected",
    ),
    Rule(
        "contact-faulty",
        "A contact is known to be faulty",
        Severity.WARNING,
        "condition as found",
        _faulty_points,
        why=(
            "A fault that was there before is blamed on whoever worked last, and electronics make it louder, not "
            "better."
        ),
        remedy="show it to the owner, mend it before wiring, or mark it as left out",
    ),
    Rule(
        "bounce-not-measured",
        "The bounce is not measured",
        Severity.NOTE,
        "measured bounce",
        _bounce_assumed,
        why=(
            "Debounce is as long as the bounce that is assumed; a guess makes keys slower than they need be, or "
            "notes repeat."
        ),
        remedy="measure the worst of some twenty strokes, or name the kind of contact",
    ),
    Rule(
        "cable-not-measured",
        "A cable was not measured",
        Severity.NOTE,
        "cable length",
        _cable_assumed,
        why=(
            "Cable capacitance sets how fast a chain may be clocked and how long a matrix must wait; an assumed "
            "length costs speed."
        ),
        remedy="measure the run from the contacts to where the board will sit",
    ),
    Rule(
        "shoe-ends-not-read",
        "A shoe's ends were not read",
        Severity.NOTE,
        "closed and open readings",
        _shoe_ends,
        why="A shoe seldom uses the whole span, so that it neither closes nor opens fully in the sound.",
        remedy="read both ends once the board is fitted, and write them down",
    ),
)
