"""`retrofit explain`: what a finding means, without any job file."""

from __future__ import annotations

import click

from retrofit.cli.names import known_name
from retrofit.cli.output import data
from retrofit.cli.terminal import folded
from retrofit.plan.explained import EXPLAINED, Explained


@click.command()
@click.argument("finding", metavar="FINDING")
def command(finding: str) -> None:
    """Tell what the rule behind FINDING compares, why, how much it matters, and how a job waives it.

    FINDING is the id that `retrofit check` shows, such as late-note-off.
    """
    for line in _lines(EXPLAINED[known_name("finding", finding, list(EXPLAINED))]):
        data(line)


def _lines(explained: Explained) -> list[str]:
    told = (
        ("compares", explained.compares),
        ("why", explained.why),
        ("remedy", explained.remedy),
        ("severity", f"{explained.severity.value}: {explained.consequence}"),
        ("waiver", explained.waiver),
    )
    lines = [f"{explained.id}: {explained.title}"]
    for label, words in told:
        lines += folded(words, f"{label:<9} ", " " * 10)
    return [*lines, *(f"{' ' * 10}{line}" for line in explained.waiver_lines)]
