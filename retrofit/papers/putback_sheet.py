"""The putback sheet: everything that is taken out, in order, with what must be seen and read after each step."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby

from retrofit.papers.csv_text import csv_text
from retrofit.papers.identity import CAUTIONS, identity_remarks
from retrofit.papers.pages import WIDTH, Block, paged
from retrofit.papers.putback_rows import (
    BLANK_DATE,
    BLANK_INITIALS,
    blanks,
    minutes_text,
    rehearsed_text,
    unproved,
    written_text,
)
from retrofit.papers.text_cells import row, wrapped
from retrofit.plan.model import ConversionPlan
from retrofit.plan.operations import Operation, Undo
from retrofit.plan.putback import Putback, PutbackStep, put_back
from retrofit.survey.operations import OperationKind

PUTBACK_SHEET_NAME = "putback-sheet"
COLUMNS = (
    "step",
    "operation",
    "kind",
    "divisions",
    "what",
    "strip",
    "tag",
    "how it is undone",
    "tool",
    "must be seen",
    "reading as found",
    "minutes",
    "done",
    "read idle",
    "read keyed",
    "rehearsed",
    "touches",
    "remarks",
)
_WIDTHS = (3, 4, 10, 27, 8, 8, 14)
_HEADS = row(("", "step", "tag", "what", "idle", "keyed", "rehearsed"), _WIDTHS)[0]


def putback_sheet_csv(plan: ConversionPlan, divisions: tuple[str, ...] = ()) -> str:
    """Return the sheet as CSV: a row per step in the order of the work; steps that cannot be undone come last."""
    putback = put_back(plan.job, divisions)
    remarks = [*identity_remarks(plan, "putback sheet"), *(("what", words) for words in _about(putback))]
    rows = [_csv_row(step) for step in putback.steps]
    rows += [_for_good_row(step) for step in putback.for_good]
    return csv_text(remarks, COLUMNS, rows)


def _csv_row(step: PutbackStep) -> tuple[str, ...]:
    operation = step.operation
    undo = _undo(operation)
    cells = {
        "step": str(step.number),
        "how it is undone": undo.words,
        "tool": undo.tool,
        "must be seen": undo.seen,
        "reading as found": operation.proof.words,
        "minutes": minutes_text(operation.minutes),
        "rehearsed": rehearsed_text(step.rehearsed),
    }
    return _row(operation, cells)


def _for_good_row(operation: Operation) -> tuple[str, ...]:
    return _row(operation, {"how it is undone": f"cannot be undone: {operation.done}"})


def _row(operation: Operation, cells: dict[str, str]) -> tuple[str, ...]:
    """Return a row with the cells that every step has, and `cells`; the others are left blank to be filled in."""
    whole = {
        "operation": operation.id,
        "kind": operation.kind.value,
        "divisions": ", ".join(operation.divisions),
        "what": operation.what,
        "strip": operation.strip,
        "tag": operation.tag,
        "touches": "; ".join(operation.originals) or "nothing of the organ",
        "remarks": "; ".join(filter(None, (operation.remark, written_text(operation)))),
        **cells,
    }
    return tuple(whole.get(column, "") for column in COLUMNS)


def _undo(operation: Operation) -> Undo:
    if operation.undo is None:
        raise ValueError(f"{operation.id} cannot be undone, so it is no step of a putback")
    return operation.undo


def putback_sheet_text(plan: ConversionPlan, divisions: tuple[str, ...] = ()) -> str:
    """Return the sheet as pages of plain text, to be printed and ticked off from the first step to the last."""
    putback = put_back(plan.job, divisions)
    title = "PUTBACK SHEET" + (f", division {', '.join(putback.divisions)} only" if putback.divisions else "")
    return paged(plan, title, _HEADS, (*_front(putback), *_steps(putback), *_for_good(putback), *_end(plan, putback)))


def _front(putback: Putback) -> Iterator[Block]:
    yield Block(_lines(*_about(putback), indent="  "))
    yield Block(_lines("Cautions", *(f"- {words}" for words in CAUTIONS), indent="  "))
    if putback.staying:
        rows = tuple(_bullet(f"{step.id}: {step.what}, for {', '.join(step.divisions)}") for step in putback.staying)
        yield Block(_lines("These stay, because other divisions need them:"), rows)


def _about(putback: Putback) -> tuple[str, ...]:
    taps = [step.operation for step in putback.steps if step.operation.kind is OperationKind.TAP_LINE]
    typical = sum(tap.proof.typical for tap in taps)
    return (
        "Work from step 1 on; after each step see and read what stands above it, then tick it.",
        *(
            ("Unplug MIDI lead and supply of our own before the first step; plug them in again after the last.",)
            if putback.staying
            else ()
        ),
        f"Steps: {len(putback.steps)}, of them taps: {len(taps)}. Cannot be undone: {len(putback.for_good)}.",
        f"Steps whose reading as found is not known in full: {unproved(putback)}. "
        f"Taps compared with a typical line of their group: {typical}.",
        f"Time: about {_hours(putback)} h, an estimate from common practice.",
    )


def _hours(putback: Putback) -> str:
    return f"{putback.minutes / 60:.1f}"


def _steps(putback: Putback) -> Iterator[Block]:
    """Yield a block for each run of steps that differ in nothing but their line."""
    for _, run in groupby(putback.steps, key=lambda step: _alike(step.operation)):
        steps = list(run)
        yield Block(_heading(steps[0].operation, len(steps)), tuple(_text_row(step) for step in steps))


def _alike(operation: Operation) -> tuple[object, ...]:
    group = operation.subject.partition(".")[0] if operation.kind is OperationKind.TAP_LINE else ""
    return operation.kind, group, operation.strip, operation.undo, operation.proof, operation.minutes


def _heading(operation: Operation, count: int) -> tuple[str, ...]:
    undo = _undo(operation)
    where = _where(operation)
    each = "each " if count > 1 else ""
    return _lines(
        f"{where}{undo.words}; tool: {undo.tool}; minutes {each}{minutes_text(operation.minutes)}",
        f"see:  {undo.seen}",
        f"read: {operation.proof.words}",
        indent="      ",
    )


def _where(operation: Operation) -> str:
    if operation.kind is not OperationKind.TAP_LINE:
        return ""
    return f"STRIP {operation.strip}: " if operation.strip else "STRIP NOT WRITTEN DOWN: "


def _text_row(step: PutbackStep) -> tuple[str, ...]:
    operation = step.operation
    what = "; ".join(filter(None, (operation.what, operation.remark, written_text(operation))))
    tag = operation.tag or ("unknown" if operation.kind is OperationKind.TAP_LINE else "")
    rehearsed = rehearsed_text(step.rehearsed) or f"{BLANK_DATE} {BLANK_INITIALS}"
    return row(("[ ]", f"{step.number:>4}", tag, what, *blanks(operation.proof), rehearsed), _WIDTHS)


def _for_good(putback: Putback) -> Iterator[Block]:
    if putback.for_good:
        rows = tuple(_bullet(" ".join(filter(None, (step.done, written_text(step))))) for step in putback.for_good)
        yield Block(_lines("THESE CANNOT BE UNDONE; say so to the owner:"), rows)


def _end(plan: ConversionPlan, putback: Putback) -> Iterator[Block]:
    """Yield what proves the whole when all is out, and the place for signatures."""
    supplies = tuple(
        _bullet(
            f"{supply.name or supply.id}: as found {supply.volts_rest} at rest, {supply.volts_full} with everything on;"
            " now ________ and ________"
        )
        for supply in plan.job.supplies
    )
    what = "WHEN THIS DIVISION IS OUT" if putback.divisions else "WHEN ALL IS OUT"
    yield Block(_lines(f"{what}: read every supply of the organ again."), supplies)
    yield Block(
        _lines(
            "[ ] every note and stop played by the list of the as-found play test",
            f"[ ] nothing of ours is left behind; signed {BLANK_DATE} {BLANK_INITIALS}, owner {BLANK_DATE}",
            indent="    ",
        )
    )


def _bullet(words: str) -> tuple[str, ...]:
    return tuple(wrapped(f"  - {words}", WIDTH, "    "))


def _lines(*sentences: str, indent: str = "") -> tuple[str, ...]:
    return tuple(line for sentence in sentences for line in wrapped(sentence, WIDTH, indent))
