"""`retrofit rules`: the rules, without any job file."""

from __future__ import annotations

import click

from retrofit.cli.output import data
from retrofit.cli.terminal import columns, folded
from retrofit.plan.rules import ALL_RULES


@click.command()
@click.option("--explain", is_flag=True, help="Also say what each rule compares.")
def command(explain: bool) -> None:
    """List the rules that a plan is held against: id, severity, whether a job may waive it, title.

    A rule that protects people or somebody else's instrument is locked: no waiver reaches it.
    """
    rows = [(rule.id, rule.severity.value, "locked" if rule.locked else "waivable", rule.title) for rule in ALL_RULES]
    lines = columns([("rule", "severity", "waiver", "says"), *rows])
    data(lines[0])
    for line, rule in zip(lines[1:], ALL_RULES, strict=True):
        data(line)
        if explain:
            for more in folded(f"compares {rule.compares}", "    "):
                data(more)
