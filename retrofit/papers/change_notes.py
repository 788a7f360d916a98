"""Change notes for the inside of the console: what was changed and why, for whoever opens it next."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from retrofit.papers.identity import CAUTIONS
from retrofit.papers.pages import WIDTH, Block, paged
from retrofit.papers.putback_rows import BLANK_DATE, BLANK_INITIALS
from retrofit.papers.text_cells import row, wrapped
from retrofit.plan.ledger import ledger
from retrofit.plan.model import ConversionPlan
from retrofit.plan.operations import Operation
from retrofit.plan.preserved import is_preserved
from retrofit.survey.operations import OperationKind
from retrofit.survey.wiring import Owner

CHANGE_NOTES_NAME = "change-notes"
_WIDTHS = (10, 8, 35, 24)
_HEADS = row(("date", "initials", "what was changed", "why"), _WIDTHS)[0]


def change_notes_text(plan: ConversionPlan) -> str:
    """Return the notes as pages of plain text; dates that nobody wrote down are left blank to be filled in."""
    steps = ledger(plan.job)
    return paged(plan, "CHANGE NOTES, to be kept inside the console", _HEADS, (*_front(plan, steps), *_changes(steps)))


def first_sentence(plan: ConversionPlan, steps: tuple[Operation, ...]) -> str:
    """Return what whoever opens the console must know first: whether it plays without what was added."""
    taken_over = [
        group.name or group.id
        for group in plan.job.groups
        if group.wiring.owner is Owner.US and not is_preserved(plan.job, group)
    ]
    if taken_over:
        return f"This console plays only through this box where it was taken over: {', '.join(taken_over)}."
    if any(step.undo is None for step in steps):
        return "This box can be unplugged, but steps were taken that cannot be undone; they are marked below."
    return "The organ plays on without this box; safe to unplug here."


def _front(plan: ConversionPlan, steps: tuple[Operation, ...]) -> Iterator[Block]:
    yield Block(_lines(first_sentence(plan, steps)))
    yield Block(
        _lines(
            "How it all comes out again stands on the putback sheet of the same plan number.",
            "The putback sheet is kept (write where): ______________________________________",
            "A copy is with: _______________________________________________________________",
        )
    )
    yield Block(_lines("Cautions", *(f"- {words}" for words in CAUTIONS)))


def _changes(steps: tuple[Operation, ...]) -> Iterator[Block]:
    """Yield a row per change; the taps of one group on one strip are one change."""
    runs = [list(run) for _, run in groupby(steps, key=_one_change)]
    yield Block((), tuple(_row(run) for run in runs))


def _one_change(step: Operation) -> tuple[str, ...]:
    if step.kind is OperationKind.TAP_LINE:
        return step.kind.value, step.subject.partition(".")[0], step.strip
    return (step.id,)


def _row(run: list[Operation]) -> tuple[str, ...]:
    step = run[0]
    when, who = (step.written[0].isoformat(), step.written[1]) if step.written else (BLANK_DATE, BLANK_INITIALS)
    what = _taps(run) if step.kind is OperationKind.TAP_LINE else _other(step)
    return (*row((when, who, what, step.why), _WIDTHS), "")


def _taps(run: list[Operation]) -> str:
    tags = [step.tag for step in run if step.tag]
    named = f"; tags {', '.join(_runs(tags))}" if tags else ""
    unnamed = len(run) - len(tags)
    more = f"; tags not written down: {unnamed}" if unnamed else ""
    strip = f"on strip {run[0].strip}" if run[0].strip else "on a strip that was not written down"
    group = run[0].subject.partition(".")[0]
    return f"{group} {strip}: {run[0].done} (lines: {len(run)}){named}{more}"


def _runs(tags: Sequence[str]) -> list[str]:
    """Return tags with consecutive numbers drawn together: `1 to 4`, `7`."""
    drawn: list[list[str]] = []
    for tag in tags:
        if drawn and _follows(drawn[-1][-1], tag):
            drawn[-1].append(tag)
        else:
            drawn.append([tag])
    return [run[0] if len(run) == 1 else f"{run[0]} to {run[-1]}" for run in drawn]


def _follows(tag: str, following: str) -> bool:
    plain = tag.isascii() and following.isascii() and tag.isdigit() and following.isdigit()
    return plain and int(following) == int(tag) + 1


def _other(step: Operation) -> str:
    words = step.done if step.what == step.done else f"{step.what}: {step.done}"
    return f"{words} (CANNOT BE UNDONE)" if step.undo is None else words


def _lines(*sentences: str) -> tuple[str, ...]:
    return tuple(line for sentence in sentences for line in wrapped(sentence, WIDTH, "  "))
