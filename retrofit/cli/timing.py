"""`retrofit timing`: where the time goes, what the debounce promises, and what the wire can carry."""

from __future__ import annotations

from pathlib import Path

import click

from retrofit.cli.arguments import job_file
from retrofit.cli.budget_bar import bar, figures, legend
from retrofit.cli.describe import debounce_words
from retrofit.cli.jobs import open_job
from retrofit.cli.output import data, raw_data, talk
from retrofit.cli.plans import planned
from retrofit.cli.terminal import columns, folded, width
from retrofit.cli.timing_json import timing_json
from retrofit.plan.timing_report import GroupTime, SplitAdvice, TimingReport, timing_report
from retrofit.timing.human import LIMITS
from retrofit.timing.wire_scenarios import Timed

WIDEST = 80
"""Columns of the longest bar."""


@click.command()
@job_file
@click.option("--json", "as_json", is_flag=True, help="Write JSON for other programs.")
def command(file: Path, as_json: bool) -> None:
    """Show where the time of each press goes, what the debounce promises, and what the wire can carry.

    Times are worst cases: from the first touch of a contact to the end of its message on an idle wire.
    """
    report = timing_report(planned(open_job(file)))
    if as_json:
        raw_data(timing_json(report))
        return
    for line in report_lines(report):
        data(line)
    if not report.groups:
        talk(f"no group has a timing yet; see: retrofit check {file}")


def report_lines(report: TimingReport) -> list[str]:
    """Return the readable report, in lines that fit the terminal, with bars of at most 80 columns."""
    sections = (
        *_groups(report.groups),
        _people(),
        _wire(report),
        _queues(report),
        folded(report.crowded) if report.crowded else [],
        _ports(report.advice),
    )
    return [line for section in sections if section for line in ("", *section)][1:]


def _groups(groups: tuple[GroupTime, ...]) -> list[list[str]]:
    if not groups:
        return []
    budgets = [group.budget for group in groups]
    full_us = max(budget.touched_us or budget.settled_us for budget in budgets)
    scale = f"press, bounce and all; a full bar is {full_us / 1000:.2f} ms"
    return [[*folded(scale), *folded(legend(budgets))], *(_group(group, full_us) for group in groups)]


def _group(group: GroupTime, full_us: float) -> list[str]:
    budget, plan = group.budget, group.plan
    debounce = debounce_words(plan.debounce, plan.period_us)
    return [
        *folded(f"{plan.id}  by {plan.interface}, every {plan.period_us} µs, {debounce}"),
        "  " + bar(budget, full_us, min(width(), WIDEST) - 2),
        *folded(f"{_total(group)}: {figures(budget)}", "  "),
        *(line for sentence in _said(group) for line in folded(sentence, "  - ", "    ")),
    ]


def _total(group: GroupTime) -> str:
    release_ms = group.plan.release_latency_us_max / 1000
    settled = f"{group.budget.settled_us / 1000:.2f} ms once settled (a release {release_ms:.2f} ms)"
    touched = group.budget.touched_us
    return f"bounce unknown, {settled}" if touched is None else f"{touched / 1000:.2f} ms from the touch, {settled}"


def _said(group: GroupTime) -> list[str]:
    repetition = [] if group.repetition is None else [f"{group.repetition[0].upper()}{group.repetition[1:]}."]
    fails = f"It fails where {'; where '.join(group.promises.fails_when)}."
    return [*group.plan.guarantees, *repetition, fails]


def _people() -> list[str]:
    lines = [f"{limit.what}: {limit.least:g} to {limit.greatest:g} {limit.unit} ({limit.status})" for limit in LIMITS]
    return ["what people play", *(line for words in lines for line in folded(words, "  - ", "    "))]


def _wire(report: TimingReport) -> list[str]:
    if not report.bursts:
        return ["nothing is sent yet"]
    rows = [_burst(burst) for burst in report.bursts]
    lines = columns([("messages", "bytes", "ms", "worst", "verdict", "burst"), *rows])
    told = (line for burst in report.bursts for line in folded(_meaning(burst), "  - ", "    "))
    return [f"the wire: {report.wire}", *lines, *told]


def _burst(burst: Timed) -> tuple[str, ...]:
    time = burst.time
    return (
        f"{time.messages}",
        f"{time.bytes}",
        f"{time.nominal_us / 1000:.2f}",
        f"{time.us_max / 1000:.2f}",
        burst.judgement.verdict.value,
        burst.scenario.id,
    )


def _meaning(burst: Timed) -> str:
    return f"{burst.scenario.id}, {burst.scenario.title}: {burst.judgement.words}"


def _queues(report: TimingReport) -> list[str]:
    lines = ["what waits: notes before pistons before stops before shoes; a newer shoe value replaces the one waiting"]
    lines += [f"{q.ring}: up to {q.needed} at once, room for {q.slots}: {q.words}" for q in report.queues]
    if report.note_wait_us_max is not None:
        lines.append(f"a note waits at most {report.note_wait_us_max / 1000:.2f} ms for something less urgent")
    return [line for i, words in enumerate(lines) for line in folded(words, "  - " if i else "", "    " if i else "")]


def _ports(advice: tuple[SplitAdvice, ...]) -> list[str]:
    lines = [f"{one.scenario}: {_ports_words(one)}; by USB {one.usb_us_max / 1000:.0f} ms at worst" for one in advice]
    return ["a second port", *(line for words in lines for line in folded(words, "  - ", "    "))] if lines else []


def _ports_words(advice: SplitAdvice) -> str:
    if advice.split is None:
        return "no number of DIN ports keeps it together, since one channel alone takes too long"
    ports = " | ".join(", ".join(map(str, channels)) for channels in advice.split.ports)
    return f"{len(advice.split.ports)} DIN ports (channels {ports}) take {advice.split.us_max / 1000:.2f} ms"
