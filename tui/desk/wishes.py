"""What may be wished of a group's sensing, as rows to choose from, and the edits that write the wishes down."""

from __future__ import annotations

from typing import Any

from retrofit.circuits.sense.design import SenseDesign
from retrofit.cli.output import counted
from retrofit.cli.sensing import LIGHTS, judged_words
from retrofit.plan.model import ConversionPlan
from retrofit.plan.sensing.candidates import wish_for
from retrofit.plan.sensing.choose import deciding
from retrofit.plan.sensing.model import GroupSensing
from retrofit.survey.job import Job
from retrofit.survey.save import Edit, set_value
from retrofit.survey.wishes import Interface, Sense

NO_WISH = "unknown"
Row = tuple[str, tuple[str, ...]]

_INTERFACES = {
    Interface.CHAIN: "shift registers in a chain, eight contacts to each",
    Interface.MATRIX: "rows and columns with a diode at every contact; the commons must be cut",
    Interface.PINS: "one pin of the board for each contact",
    Interface.MULTIPLEXER: "eight or sixteen contacts to one pin, one after the other",
    Interface.EXPANDER: "port expanders on the two-wire bus, sixteen contacts to each",
    Interface.LISTEN: "a keyboard that the organ scans itself is listened to",
}


def circuit_rows(plan: ConversionPlan, sensed: GroupSensing) -> tuple[list[Row], str]:
    """Return every circuit of a group that can be wished for, best first, and the wish that stands."""
    rows: list[Row] = [(NO_WISH, ("no wish", "", "the plan chooses the best that is permitted"))]
    for design in (*sensed.ranked, *sensed.refused):
        wish = wish_for(design)
        if wish is not Sense.UNKNOWN and wish.value not in [key for key, _ in rows]:
            rows.append(
                (wish.value, (design.circuit, f"{LIGHTS[design.verdict]} {design.verdict.value}", _why(design)))
            )
    group = next(one for one in plan.job.groups if one.id == sensed.group)
    return rows, group.wanted.sense.value


def _why(design: SenseDesign) -> str:
    if design.refusals:
        return f"refused: {design.refusals[0]}"
    worst = deciding(design)
    unread = sum(judged.result is None for judged in design.judged)
    open_still = f"{counted(unread, 'figure')} not known" if unread else ""
    return "; ".join(filter(None, ("" if worst is None else judged_words(worst)[4:], open_still)))


def interface_rows(plan: ConversionPlan, group_id: str) -> tuple[list[Row], str]:
    """Return every interface, and the one that is wished for."""
    rows: list[Row] = [(NO_WISH, ("no wish", "the plan proposes one"))]
    rows += [(interface.value, (interface.value, words)) for interface, words in _INTERFACES.items()]
    group = next(one for one in plan.job.groups if one.id == group_id)
    return rows, NO_WISH if group.wanted.interface is None else group.wanted.interface.value


def sense_wish(group: str, wish: str) -> Edit:
    """Return the edit that wishes for a circuit, or for none in particular."""
    return lambda document: set_value(document, ("groups", group, "wanted", "sense"), wish)


def interface_wish(group: str, wish: str) -> Edit:
    """Return the edit that wishes for an interface, or takes the wish out."""

    def edit(document: Any) -> None:
        if wish != NO_WISH:
            set_value(document, ("groups", group, "wanted", "interface"), wish)
            return
        table = next(one for one in document["groups"] if one.get("id") == group)
        table.get("wanted", {}).pop("interface", None)

    return edit


def originals_wish(preserved: bool) -> Edit:
    """Return the edit that preserves every original circuit of the job, or no longer does."""
    return lambda document: set_value(document, ("originals", "preserved"), preserved)


def own_statements(job: Job) -> list[str]:
    """Return which groups say for themselves whether their originals are preserved, as one line, or nothing."""
    stated = [
        f"{group.id} ({'preserved' if group.originals_preserved else 'not preserved'})"
        for group in job.groups
        if group.originals_preserved is not None
    ]
    return [f"These groups speak for themselves and stay as they are: {', '.join(stated)}.", ""] if stated else []
