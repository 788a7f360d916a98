"""The sensing of a plan as a person reads it: circuits, margins, what the organ feels, isolation and our supply."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from retrofit.circuits.branch import Branch
from retrofit.circuits.quantity import quantity
from retrofit.circuits.result import Result
from retrofit.circuits.sense.design import Judged, Part, SenseDesign, Verdict
from retrofit.cli.output import counted
from retrofit.cli.terminal import folded, shown
from retrofit.plan.model import ConversionPlan
from retrofit.plan.sensing.choose import deciding
from retrofit.plan.sensing.model import Crossing, GroupSensing, IsolationPlan, PowerPlan, StateFelt, SupplyFelt

LIGHTS = {Verdict.GOOD: "[+]", Verdict.NARROW: "[~]", Verdict.FAILS: "[x]", Verdict.UNKNOWN: "[?]"}
"""Each verdict has a sign of its own beside its word, so that no colour is needed."""
_LABEL = 9

Paragraph = tuple[str, str, str]
"""Words, what stands before their first line, and before the lines that follow."""


def sensing_lines(plan: ConversionPlan) -> list[str]:
    """Return the sensing section, in lines that fit the terminal."""
    if not plan.sensing:
        return ["no sensing: see the findings"]
    lines = ["sensing  ([+] good, [~] narrow, [x] fails, [?] unknown)"]
    for sensed in plan.sensing:
        lines += _group(sensed)
    return lines + [line for paragraph in shared_paragraphs(plan) for line in folded(*paragraph)]


def shared_paragraphs(plan: ConversionPlan) -> Iterator[Paragraph]:
    """Yield what no group has for itself: the organ's supplies, isolation, and our own supply."""
    for felt in plan.supplies_felt:
        yield from _supply(felt)
    if plan.isolation is not None:
        yield from _isolation(plan.isolation)
    if plan.power is not None:
        yield from _power(plan.power)


def _group(sensed: GroupSensing) -> Iterator[str]:
    line_class = f" ({sensed.line_class})" if sensed.line_class else ""
    yield from folded(f"{sensed.group}{line_class}: {choice_words(sensed)}", rest="  ")
    rows: list[tuple[str, str]] = []
    if sensed.chosen is not None:
        rows += _circuit_rows(sensed.chosen)
    if sensed.feels:
        rows.append(("organ", feels_words(sensed.feels)))
    rows += [("MIDI", words) for words in sensed.midi_otherwise]
    if not sensed.line.ours:
        rows += [("or", words) for words in _alternatives(sensed)]
        rows += [("not", words) for words in refused_words(sensed)]
    for label, text in filter(lambda row: row[1], rows):
        yield from folded(text, f"  {label.ljust(_LABEL)}", " " * (_LABEL + 2))


def choice_words(sensed: GroupSensing) -> str:
    """Return the verdict of a group and its circuit, and why a wish was not followed."""
    light = f"{LIGHTS[sensed.verdict]} {sensed.verdict.value}"
    if sensed.chosen is None:
        return f"{light}, no circuit chosen"
    refused = f"; not as wished: {sensed.wish_refused}" if sensed.wish_refused else ""
    return f"{light}, {sensed.chosen.circuit}{refused}"


def _circuit_rows(design: SenseDesign) -> Iterator[tuple[str, str]]:
    parts = parts_words(design.parts)
    if parts:
        yield "parts", parts
    worst = deciding(design)
    if worst is not None:
        yield "worst", judged_words(worst)
        yield "", corner_words(worst)
    unread = sum(judged.verdict is Verdict.UNKNOWN for judged in design.judged)
    if unread:
        yield "unread", f"{counted(unread, 'figure')} for which a reading is missing; `retrofit check` names it"


def parts_words(parts: Sequence[Part]) -> str:
    """Return the parts with their values and places, equal parts counted."""
    found: dict[str, int] = {}
    for part in parts:
        words = f"{_value(part)} {part.role}"
        found[words] = found.get(words, 0) + 1
    return "; ".join(f"{number} x {words}" if number > 1 else words for words, number in found.items())


def _value(part: Part) -> str:
    if part.unit in ("piece", "pieces"):
        return part.kind
    return f"{part.kind} {quantity(part.value, part.unit)}"


def judged_words(judged: Judged) -> str:
    """Return a judged figure with its limit and the corner that decided it."""
    result = judged.result
    if result is None:
        return f"{LIGHTS[judged.verdict]} {judged.criterion}: nobody knows {judged.missing}"
    bound = "at least" if result.at_least else "at most"
    return f"{LIGHTS[judged.verdict]} {judged.criterion}: {result.figure}, {bound} {_limit(result)}"


def _limit(result: Result) -> str:
    """Return the limit; the words of a unit such as `% of keyed current` are not said again."""
    words = quantity(result.limit, result.unit)
    return words.partition(" % ")[0] + " %" if " % " in words else words


def corner_words(judged: Judged) -> str:
    """Return the corner that decided a figure, nothing while the figure is unknown."""
    return f"({judged.result.corner})" if judged.result is not None and judged.result.corner else ""


def feels_words(states: Sequence[StateFelt]) -> str:
    """Return the currents state by state, states that feel the same together."""
    alike: dict[str, list[str]] = {}
    for state in states:
        alike.setdefault(_current(state), []).append(state.state.value)
    return "; ".join(f"{current}: {', '.join(names)}" for current, names in alike.items())


def _current(state: StateFelt) -> str:
    if state.line_ua is None or state.group_ma is None:
        return "unknown"
    return f"{quantity(state.line_ua, 'µA')} a line, {quantity(state.group_ma, 'mA')} in all"


def _alternatives(sensed: GroupSensing) -> Iterator[str]:
    """Yield, in one line, the other circuits that this line permits and that break no limit."""
    others = [
        f"{LIGHTS[design.verdict]} {design.circuit}"
        for design in sensed.ranked
        if design is not sensed.chosen and design.verdict is not Verdict.FAILS
    ]
    if others:
        yield ", ".join(others)


def refused_words(sensed: GroupSensing) -> Iterator[str]:
    """Yield the circuits that were refused or break a limit, those with the same first reason together."""
    alike: dict[str, list[str]] = {}
    for design in (*sensed.ranked, *sensed.refused):
        reason = _first_reason(design)
        if reason and design is not sensed.chosen:
            alike.setdefault(reason, []).append(design.circuit)
    return (f"{', '.join(circuits)}: {reason}" for reason, circuits in alike.items())


def _first_reason(design: SenseDesign) -> str:
    if design.refusals:
        return design.refusals[0]
    failing = (judged_words(judged) for judged in design.judged if judged.verdict is Verdict.FAILS)
    return next(failing, "")


def _supply(felt: SupplyFelt) -> Iterator[Paragraph]:
    total = "an unknown current" if felt.total_ma is None else quantity(felt.total_ma, "mA")
    yield f"supply {felt.supply}: we take {total} with every sensed line keyed", "", "  "
    for judged in (felt.sag, felt.fuse):
        yield judged_words(judged), "  ", "    "
        if corner_words(judged):
            yield corner_words(judged), "    ", "    "


def _isolation(isolation: IsolationPlan) -> Iterator[Paragraph]:
    if not isolation.crossings:
        return
    groups = ", ".join(isolation.joined_groups)
    yield f"isolation: our ground is joined to the organ's return by {groups}", "", "  "
    for crossing in isolation.crossings:
        yield f"{_rated(crossing)} {crossing.conductor}, {crossing.when}: {crossing.part}", "  ", "    "
    for path in isolation.hum:
        level = f"{path.db:.0f} dB against 100 mV for each 0.1 Ω of return that is shared"
        yield f"{path.way}: {quantity(path.amps, 'A')}, {level}", "  hum ", "    "


def _rated(crossing: Crossing) -> str:
    return {True: LIGHTS[Verdict.GOOD], False: LIGHTS[Verdict.FAILS], None: LIGHTS[Verdict.UNKNOWN]}[crossing.rated]


def _fused(wire: Branch | None) -> str:
    if wire is None:
        return "no wire and fuse serve it"
    return f"fuse {quantity(wire.fuse_amps, 'A')}, {wire.area_mm2:.3g} mm²"


def _power(power: PowerPlan) -> Iterator[Paragraph]:
    yield f"our supply: at most {power.greatest_ma:.0f} mA, every pull-up closed", "", ""
    for stage in power.stages:
        yield stage.sentence, "  ", "    "
    for branch in power.branches:
        words = f"branch {shown(branch.group)}: {branch.load_ma:.1f} mA, {_fused(branch.branch)}"
        yield words, "  ", "    "
    if power.bleeder is not None:
        bleeder = power.bleeder
        yield (
            f"bleeder {quantity(bleeder.part.value, 'Ω')} {bleeder.part.role}: held lines leave it at most "
            f"{bleeder.dead.value:.2f} V while our supply is off; costs {bleeder.alive_ma:.0f} mA",
            "  ",
            "    ",
        )
