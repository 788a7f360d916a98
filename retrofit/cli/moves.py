"""Recorded addresses that a plan would move: they are listed, and nothing goes on until somebody agreed."""

from __future__ import annotations

import sys

import click

from retrofit.cli.output import Exit, Stop, counted, talk
from retrofit.plan.model import ConversionPlan


def agree_to_moves(plan: ConversionPlan, accepted: bool) -> None:
    """List what would move, then ask, unless `accepted` says so already; end the command when the answer is no.

    Where nobody can be asked (stdin is no terminal) the answer is no.
    """
    if not plan.moves:
        return
    talk(f"{counted(len(plan.moves), 'recorded address')} would move:")
    for move in plan.moves:
        talk(f"  {move.point}: {move.recorded} -> {move.proposed}")
    if not (accepted or _asked("move them?")):
        raise Stop(Exit.PROBLEMS, "nothing written; --accept-moves agrees to these moves")


def _asked(question: str) -> bool:
    return sys.stdin.isatty() and click.confirm(question, default=False, err=True)
