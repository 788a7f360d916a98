"""Rules about sense circuits on lines that the organ owns.  Those that protect the instrument cannot be waived."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from retrofit.circuits.sense.back_feed import BACK_FEED
from retrofit.circuits.sense.design import Judged, SenseDesign, Verdict
from retrofit.plan.facts import Facts
from retrofit.plan.model import Severity
from retrofit.plan.rules.rule import Rule, Said
from retrofit.plan.sensing.model import GroupSensing
from retrofit.survey.base import Ternary
from retrofit.survey.contacts import GroupBase
from retrofit.survey.wiring import Owner
from retrofit.survey.wishes import Sense

_LOADS = (
    "current taken from the line",
    "shift of the line's volts",
    "change of the line's decay",
    "change of the organ's supply",
)
_FEEDING = (Sense.PULL_UP, Sense.PULL_DOWN)


def organ_groups(facts: Facts) -> Iterator[tuple[GroupBase, GroupSensing]]:
    """Yield the groups whose lines the organ owns, with how they are sensed."""
    for group in facts.job.groups:
        sensed = facts.sensing_of(group.id)
        if group.wiring.owner is Owner.ORGAN and sensed is not None:
            yield group, sensed


def _chosen(facts: Facts) -> Iterator[tuple[GroupBase, SenseDesign]]:
    return ((group, sensed.chosen) for group, sensed in organ_groups(facts) if sensed.chosen is not None)


def _is_load(judged: Judged) -> bool:
    return judged.criterion.startswith(_LOADS)


def failing(design: SenseDesign) -> tuple[Judged, ...]:
    """Return the figures of a design that break their limits."""
    return tuple(judged for judged in design.judged if judged.verdict is Verdict.FAILS)


def _figures(judged: Judged) -> tuple[str, str]:
    """Return what was found and what is allowed, in words."""
    result = judged.result
    if result is None:
        return f"{judged.criterion}: unknown", f"known: {judged.missing}"
    return f"{judged.criterion}: {result.figure} ({result.corner})", result.bound


def _sense_subject(group: GroupBase) -> str:
    return f"groups.{group.id}.wanted.sense"


def _load_too_great(facts: Facts) -> Iterator[Said]:
    for group, design in _chosen(facts):
        for judged in filter(_is_load, failing(design)):
            found, allowed = _figures(judged)
            remedy = "choose a lighter circuit, move the tap to a stiffer point of the line, or fit sensors of our own"
            yield Said(_sense_subject(group), f"{design.circuit}: {found}", allowed, remedy)


def _back_feed(facts: Facts) -> Iterator[Said]:
    for group, design in _chosen(facts):
        for judged in failing(design):
            if judged.criterion == BACK_FEED:
                found, allowed = _figures(judged)
                remedy = "use a greater series resistor, an isolated circuit, or a stiffer point of the line"
                yield Said(_sense_subject(group), f"{design.circuit}: {found}", allowed, remedy)


def _no_circuit(facts: Facts) -> Iterator[Said]:
    for group, sensed in organ_groups(facts):
        if sensed.chosen is None and group.wanted.sense is Sense.UNKNOWN and sensed.verdict is Verdict.FAILS:
            yield Said(
                _sense_subject(group),
                "every circuit that would touch these lines is refused or breaks a limit: "
                + "; ".join(_reasons(sensed)),
                "a circuit that keeps every limit",
                'move the tap and read the lines there, or fit sensors of our own at the keys and say sense = "sensor"',
            )


def _reasons(sensed: GroupSensing) -> Iterator[str]:
    """Yield, circuit by circuit, the first thing that speaks against it."""
    for design in sensed.ranked:
        for judged in failing(design)[:1]:
            yield f"{design.circuit}: {_figures(judged)[0]}"
    said: dict[str, None] = {}
    for design in sensed.refused:
        said.setdefault(design.refusals[0])
    yield from said


def _wish_refused(facts: Facts) -> Iterator[Said]:
    for group, sensed in organ_groups(facts):
        said_elsewhere = group.wanted.sense in _FEEDING or (
            group.wiring.carries_audio is Ternary.YES and facts.preserved(group)
        )
        if sensed.wish_refused and not said_elsewhere:
            permitted = ", ".join(dict.fromkeys(design.circuit for design in sensed.ranked)) or "none"
            yield Said(
                _sense_subject(group),
                f"{group.wanted.sense.value} is wanted: {sensed.wish_refused}",
                f"a circuit that this line permits: {permitted}",
                "take the wish out, and the best of them is chosen",
            )


def _margin_short(facts: Facts) -> Iterator[Said]:
    for group, design in _chosen(facts):
        for judged in failing(design):
            if not _is_load(judged) and judged.criterion != BACK_FEED:
                found, allowed = _figures(judged)
                yield Said(
                    _sense_subject(group),
                    f"{design.circuit}: {found}",
                    allowed,
                    "read the line again, move the tap, or take the next circuit of the plan's list",
                )


def _figure_unknown(facts: Facts) -> Iterator[Said]:
    for group, design in _chosen(facts):
        missing = _unread(design)
        if missing:
            yield Said(
                f"groups.{group.id}.wiring",
                f"{design.circuit}: nobody knows {'; nor '.join(missing)}",
                "every figure known, worst case",
                "read them before anything is connected; until then the circuit is not proven",
            )


def _unread(design: SenseDesign) -> tuple[str, ...]:
    """Return what nobody has read, each once: two unknowns of one figure are joined by "and"."""
    missing = dict.fromkeys(judged.missing for judged in design.judged if judged.verdict is Verdict.UNKNOWN)
    rest = (_without(words, [other for other in missing if other != words]) for words in missing)
    return tuple(dict.fromkeys(filter(None, rest)))


def _without(words: str, said: Collection[str]) -> str:
    return " and ".join(part for part in words.split(" and ") if part not in said)


def _supply_loaded(facts: Facts) -> Iterator[Said]:
    for felt in facts.supplies_felt:
        for judged in (felt.sag, felt.fuse):
            if judged.verdict is Verdict.FAILS:
                found, allowed = _figures(judged)
                yield Said(
                    f"supplies.{felt.supply}",
                    f"{found}, with every line of {', '.join(felt.groups)} keyed",
                    allowed,
                    "sense some of these groups with a lighter circuit",
                )


RULES = (
    Rule(
        "load-too-great",
        "A sense circuit would load the organ's line too much",
        Severity.ERROR,
        "what the chosen circuit takes of a line's current, volts, decay and supply with the limits",
        _load_too_great,
        locked=True,
        why="A line that is loaded speaks late, speaks softly or not at all, and the owner hears it before we do.",
        remedy="choose a lighter circuit, tap the line where it is stiffer, or fit sensors that touch no circuit",
    ),
    Rule(
        "back-feed-when-off",
        "A line would feel too much while our supply is off",
        Severity.ERROR,
        "the current of a line into our unpowered board with the least allowance",
        _back_feed,
        locked=True,
        why="The organ is played with our board unplugged too, and a current into a dead input may hold or rob a note.",
        remedy="use a greater series resistor or an isolated circuit",
    ),
    Rule(
        "supply-loaded",
        "A supply of the organ would sag, or its fuse would be loaded, by our sense inputs",
        Severity.ERROR,
        "the sum over all sensed lines with the supply's source resistance and fuse",
        _supply_loaded,
        locked=True,
        why="What one line does not notice, three hundred together may: the whole organ goes flat or a fuse blows.",
        remedy="use high-impedance circuits for the groups that draw most",
    ),
    Rule(
        "no-circuit-permitted",
        "No circuit may touch these lines",
        Severity.ERROR,
        "every circuit, worked out for the line, with its limits",
        _no_circuit,
        locked=True,
        why="A circuit that breaks a limit harms the organ or reads wrongly; a line without one cannot be read there.",
        remedy="move the tap, or fit sensors of our own that touch no circuit",
    ),
    Rule(
        "sense-wish-refused",
        "The wished way of sensing is not permitted on this line",
        Severity.ERROR,
        "the wish with the reasons against the circuit",
        _wish_refused,
        locked=True,
        why="A wish does not change what a line bears.",
        remedy="take the wish out, or change what speaks against it",
    ),
    Rule(
        "sense-margin-short",
        "A figure of the chosen circuit misses its limit",
        Severity.WARNING,
        "levels, delays, ratings and clamp currents of the chosen circuit with the limits",
        _margin_short,
        why="The circuit does the organ no harm, but at a corner of its tolerances it may read wrongly or wear out.",
        remedy="read the line more closely, or take another circuit of the plan's list",
    ),
    Rule(
        "sense-figure-unknown",
        "The chosen circuit rests on something that nobody has read",
        Severity.WARNING,
        "figures of the chosen circuit that could not be computed",
        _figure_unknown,
        why="What is unknown is not taken as typical: a circuit is proven only when every figure is known.",
        remedy="take the readings that are named",
    ),
)
