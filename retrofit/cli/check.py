"""`retrofit check`: every problem of a job file and every finding of its plan, in one run."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from itertools import groupby
from pathlib import Path

import click

from retrofit.cli.arguments import job_file
from retrofit.cli.jobs import read_job
from retrofit.cli.output import Exit, Stop, counted, data, talk
from retrofit.cli.places import Places
from retrofit.cli.plans import planned
from retrofit.cli.terminal import folded
from retrofit.plan.model import Finding, Severity

_NAMED_ONE_BY_ONE = 3
"""So many points of a group are each named with their line though the same was found of them."""


@click.command()
@job_file
@click.option("--all", "every", is_flag=True, help="Name every point, also where many of a group share a finding.")
def command(file: Path, every: bool) -> None:
    """Say every problem of a job file and every finding of its plan.

    Findings that stop the work come first.  The exit code is 1 when there are any, or when the file has problems.
    """
    job, problems = read_job(file)
    for problem in problems:
        data(str(problem))
    if job is None:
        raise Stop(Exit.PROBLEMS, f"{counted(len(problems), 'problem')}; the plan waits until the file has none")
    plan = planned(job)
    show_findings(plan.findings, _placed(file), every)
    if plan.errors or plan.withholding:
        raise Stop(Exit.PROBLEMS, summary(plan.findings))
    talk(summary(plan.findings))


def summary(findings: Iterable[Finding]) -> str:
    """Return how many findings there are of each severity, waived ones counted apart."""
    sorted_out = list(findings)
    live = [finding for finding in sorted_out if finding.waived is None]
    counts = [counted(sum(f.severity is severity for f in live), severity.value) for severity in Severity]
    waived = len(sorted_out) - len(live)
    return ", ".join(counts) + (f", {waived} waived" if waived else "")


def _placed(file: Path) -> Callable[[str], str]:
    """Return what puts file and line before a subject."""
    places = Places(file.read_text(encoding="utf-8-sig"))

    def placed(subject: str) -> str:
        line = places.line(subject)
        return f"{file}{'' if line is None else f':{line}'} {subject}"

    return placed


def show_findings(findings: Iterable[Finding], placed: Callable[[str], str], every: bool) -> None:
    """Write the findings; neighbours that differ only in their subject share what is allowed and what to do.

    Points of one group of which the same was found share a line, unless `every` one is to be named.
    """
    for head, alike in groupby(findings, key=_shared):
        standing, rule, allowed, remedy = head
        data(f"{standing}: {rule}")
        for (_, found), same in groupby(alike, key=_sentence):
            subjects = [finding.subject for finding in same]
            folds = len(subjects) > _NAMED_ONE_BY_ONE and not every
            for subject in subjects[:1] if folds else subjects:
                more = f" … and {len(subjects) - 1} more" if folds else ""
                _write("  ", f"{placed(subject)}{more}: {found}")
        _write("    ", f"allowed: {allowed}")
        _write("    ", f"remedy: {remedy}")
        data()


def _sentence(finding: Finding) -> tuple[str, str]:
    """Return the group that a point belongs to, and what was found of it."""
    return finding.subject.rpartition(".")[0], finding.found


def _shared(finding: Finding) -> tuple[str, str, str, str]:
    waived = finding.waived is not None
    standing = f"waived {finding.severity} ({finding.waived})" if waived else finding.severity.value
    return standing, finding.rule, finding.allowed, finding.remedy


def _write(indent: str, text: str) -> None:
    for line in folded(text, indent, f"{indent}  "):
        data(line)
