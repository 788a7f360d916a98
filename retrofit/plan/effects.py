"""What another wish would change in a plan: circuits, steps of the work, findings, and what the board does."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from retrofit.plan.differences import plan_differences
from retrofit.plan.ledger import ledger
from retrofit.plan.model import ConversionPlan, Finding
from retrofit.plan.operations import Operation
from retrofit.plan.sensing.model import GroupSensing
from retrofit.survey.operations import OperationKind


@dataclass(frozen=True, slots=True)
class Effect:
    """One subject with everything in it that would change, a line each; no line where all stays as it is."""

    subject: str
    lines: tuple[str, ...]


def effects(before: ConversionPlan, after: ConversionPlan) -> tuple[Effect, ...]:
    """Return what changes from one plan to another of the same console, subject by subject, the empty ones too."""
    return (
        Effect("circuits", tuple(_changed(_circuits(before), _circuits(after)))),
        Effect("steps", tuple(_changed(_steps(before), _steps(after)))),
        Effect("findings", tuple(_changed(_findings(before), _findings(after)))),
        Effect("the board", tuple(_differences(before, after))),
    )


def changed_names(before: tuple[str, ...], after: tuple[str, ...]) -> tuple[str, ...]:
    """Return the names that only one side has, as lines."""
    return tuple(_changed(dict.fromkeys(before, ""), dict.fromkeys(after, "")))


def _changed(before: Mapping[str, str], after: Mapping[str, str]) -> Iterator[str]:
    """Yield what goes, what is another, and what comes."""
    for name in dict.fromkeys((*before, *after)):
        if name not in after:
            yield f"- {_said(name, before[name])}"
        elif name not in before:
            yield f"+ {_said(name, after[name])}"
        elif before[name] != after[name]:
            yield f"{name}: {before[name]} -> {after[name]}"


def _said(name: str, words: str) -> str:
    return f"{name}: {words}" if words else name


def _circuits(plan: ConversionPlan) -> dict[str, str]:
    return {sensed.group: _circuit(sensed) for sensed in plan.sensing}


def _circuit(sensed: GroupSensing) -> str:
    if sensed.chosen is None:
        return f"no circuit ({sensed.verdict.value})"
    refused = f", not as wished: {sensed.wish_refused}" if sensed.wish_refused else ""
    return f"{sensed.chosen.circuit} ({sensed.verdict.value}){refused}"


def _steps(plan: ConversionPlan) -> dict[str, str]:
    """Return the steps by id, taps of one group together, and in how many of them originals are preserved."""
    every = ledger(plan.job)
    taps = Counter(step.id.split(".")[1] for step in every if step.kind is OperationKind.TAP_LINE)
    others = {step.id: _step(step) for step in every if step.kind is not OperationKind.TAP_LINE}
    kept = sum(step.preserved for step in every)
    return {
        "steps that must leave the originals as they were": str(kept),
        **others,
        **{f"taps of {group}": f"lines: {count}" for group, count in taps.items()},
    }


def _step(step: Operation) -> str:
    return step.what if step.undo is not None else f"{step.what}, CANNOT BE UNDONE"


def _findings(plan: ConversionPlan) -> dict[str, str]:
    return {
        f"{finding.severity.value} {finding.rule} {finding.subject}": _finding(finding) for finding in plan.findings
    }


def _finding(finding: Finding) -> str:
    return finding.message if finding.waived is None else f"{finding.message} (waived: {finding.waived})"


def _differences(before: ConversionPlan, after: ConversionPlan) -> Iterator[str]:
    for one in plan_differences(before, after):
        yield f"{one.subject}, {one.what}: {one.first} -> {one.second}"
