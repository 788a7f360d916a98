"""`retrofit compare`: every way of reading the contacts of this console, and which one is recommended."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import click

from retrofit.catalogue.load import load_catalogue
from retrofit.cli.arguments import job_file
from retrofit.cli.compare_json import compare_json
from retrofit.cli.connectors import connector_lines
from retrofit.cli.jobs import open_job
from retrofit.cli.names import known_name
from retrofit.cli.output import Exit, Stop, counted, data, raw_data
from retrofit.cli.plans import planned
from retrofit.cli.sensing import LIGHTS
from retrofit.cli.terminal import columns, folded, shown
from retrofit.plan.topologies.compare import NothingToCompareError, compare, joints
from retrofit.plan.topologies.model import Candidate, Comparison, GroupComparison, WholeConsole

_HEAD = ("", "read by", "chips", "joints", "pins", "spare", "scan", "cost")
_WHOLE_HEAD = ("", "every group", "boards", "chips", "joints", "pins", "every")
MOST_BOARDS = 16


@click.command()
@job_file
@click.option("--json", "as_json", is_flag=True, help="Write JSON for other programs.")
@click.option("--group", metavar="GROUP", help="Tell everything of one group: levels, waits, wires, cable, remarks.")
@click.option("--boards", type=click.IntRange(1, MOST_BOARDS), help="Spread the groups over so many controllers.")
@click.option("--connectors", "with_connectors", is_flag=True, help="Also draw each connector from both sides.")
def command(file: Path, as_json: bool, group: str | None, boards: int | None, with_connectors: bool) -> None:
    """Compare the ways of reading the contacts of a console, and say which one is recommended and why.

    A way of reading is worked out as if its group had a board of its own; then all groups are put together.
    """
    job = open_job(file)
    try:
        comparison = compare(job, load_catalogue(), boards)
    except NothingToCompareError as error:
        raise Stop(Exit.PROBLEMS, f"{file}: {error}") from error
    if group is not None:
        known_name("group", group, [one.group for one in comparison.groups])
    if as_json:
        raw_data(compare_json(comparison))
        return
    for line in _text(comparison, group):
        data(line)
    if with_connectors:
        for line in connector_lines(planned(job)):
            data(line)


def _text(comparison: Comparison, group: str | None) -> Iterator[str]:
    yield f"board {comparison.board}  ([+] good, [~] narrow, [?] a reading is missing, [x] refused)"
    yield from folded("(n): the firmware has no front end for it yet; counts are estimates of one group alone")
    for one in comparison.groups:
        if group in (None, one.group):
            yield ""
            yield from _group(one)
            yield from _details(one) if one.group == group else ()
    if group is None:
        yield ""
        yield from _console(comparison)


def _group(one: GroupComparison) -> Iterator[str]:
    yield f"{shown(one.group)}: {counted(one.contacts, 'contact')}"
    yield from columns([_HEAD, *(_row(candidate) for candidate in one.candidates)])
    alike: dict[str, list[str]] = {}
    for candidate in one.candidates:
        for refusal in candidate.refusals[:1]:
            alike.setdefault(refusal.sentence, []).append(candidate.kind.value)
    for sentence, kinds in alike.items():
        yield from folded(f"not {'; '.join(kinds)}: {sentence}", "  ", "    ")
    recommended = "nothing" if one.recommended is None else one.recommended.value
    yield from folded(f"recommended: {recommended}: {one.reason}", "  ", "    ")
    if one.wished is not None and one.wished is not one.recommended:
        said = "; ".join(one.consequences) or "nothing changes"
        yield from folded(f"the job asks for {one.wished.value}: {said}", "  ", "    ")


def _row(candidate: Candidate) -> tuple[str, ...]:
    counts = candidate.counts
    return (
        LIGHTS[candidate.verdict],
        candidate.kind.value + ("" if candidate.wish else " (n)"),
        str(counts.devices),
        str(counts.joints),
        str(counts.pins),
        str(counts.spare),
        f"{candidate.time.scan_us:.0f} µs",
        counts.cost.value,
    )


def _details(one: GroupComparison) -> Iterator[str]:
    for candidate in one.candidates:
        yield ""
        yield f"{LIGHTS[candidate.verdict]} {candidate.kind.value}"
        for line in _detail_words(candidate):
            yield from folded(line, "  ", "    ")


def _detail_words(candidate: Candidate) -> Iterator[str]:
    counts, time = candidate.counts, candidate.time
    yield (
        f"{counts.places} places, {counts.taken} taken, {counts.spare} spare ({counts.watched} of them read and left "
        f"aside); {counted(counts.lines, 'line')}, {counted(counts.diodes, 'diode')} to fit, "
        f"{counted(counts.networks, 'resistor network')}"
    )
    if time.settle_us:
        yield f"{time.steps} steps, each with a wait of {time.settle_us:.1f} µs"
    yield f"about {candidate.memory.ram} bytes of RAM and {candidate.memory.flash} of flash more; {candidate.cable}"
    for judged in candidate.judged:
        light = LIGHTS[judged.verdict]
        if judged.result is None:
            yield f"{light} {judged.criterion}: nobody knows {judged.missing}"
        else:
            result = judged.result
            bound = "at least" if result.at_least else "at most"
            figures = f"{result.value:.4g} {result.unit}, {bound} {result.limit:.4g}"
            yield f"{light} {judged.criterion}: {figures} ({result.corner})"
    yield from (f"refused: {refusal.sentence}" for refusal in candidate.refusals)
    yield from candidate.remarks
    yield from (f"assumed: {words}" for words in candidate.assumptions)


def _console(comparison: Comparison) -> Iterator[str]:
    yield "the whole console"
    yield from columns([_WHOLE_HEAD, *(_whole_row(whole) for whole in comparison.whole)])
    for whole in comparison.whole:
        if whole.refusals:
            more = f" (and {len(whole.refusals) - 1} more)" if len(whole.refusals) > 1 else ""
            yield from folded(f"not {whole.name}: {whole.refusals[0]}{more}", "  ", "    ")
    if comparison.recommended is None:
        yield from folded(f"recommended: nothing: {comparison.reason}", "  ", "    ")
        return
    yield from folded(f"recommended: {comparison.reason}", "  ", "    ")
    yield from _boards(comparison.recommended)
    for marker in comparison.markers:
        yield from folded(f"marker bits: {marker.sentence}", "  ", "    ")


def _whole_row(whole: WholeConsole) -> tuple[str, ...]:
    name = whole.name + (" (n)" if whole.without_front_end else "")
    if not whole.boards:
        return (LIGHTS[whole.verdict], name, *("-",) * (len(_WHOLE_HEAD) - 2))
    periods = [board.period_us for board in whole.boards if board.period_us is not None]
    return (
        LIGHTS[whole.verdict],
        name,
        str(len(whole.boards)),
        str(sum(board.counts.devices for board in whole.boards)),
        str(joints(whole)),
        str(max(board.counts.pins for board in whole.boards)),
        f"{max(periods)} µs",
    )


def _boards(whole: WholeConsole) -> Iterator[str]:
    for number, board in enumerate(whole.boards, 1):
        reads = ", ".join(f"{group} by {whole.choice[group].value}" for group in board.groups)
        yield from folded(
            f"board {number}: {reads}; {board.counts.pins} pins, one reading {board.scan_us:.0f} µs, "
            f"every {board.period_us} µs; the firmware takes about {board.memory.ram} bytes of RAM and "
            f"{board.memory.flash} of flash",
            "  ",
            "    ",
        )
        for remark in board.remarks:
            yield from folded(remark, "    ", "    ")
    for words in whole.joins:
        yield from folded(words, "  - ", "    ")
