"""What was recorded and a plan would change: it is listed, and nothing goes on until somebody agreed."""

from __future__ import annotations

from collections.abc import Sequence

from retrofit.cli.asking import agreed
from retrofit.cli.output import Exit, Stop, counted, talk
from retrofit.plan.model import ConversionPlan, MessageChange, Move


def agree_to_moves(plan: ConversionPlan, accepted: bool) -> None:
    """List what would move or change, then ask, unless `accepted` says so; end the command when the answer is no.

    Where nobody can be asked (stdin is no terminal) the answer is no.
    """
    if not changes_recorded(plan):
        return
    _list("address", "move", plan.moves)
    _list("message", "change", plan.message_changes)
    if not (accepted or agreed(_question(plan))):
        raise Stop(Exit.PROBLEMS, "nothing written; --accept-moves agrees to these moves and changes")


def changes_recorded(plan: ConversionPlan) -> bool:
    """Return whether the plan moves a recorded address or changes a recorded message."""
    return bool(plan.moves or plan.message_changes)


def _list(what: str, verb: str, differing: Sequence[Move | MessageChange]) -> None:
    if differing:
        talk(f"{counted(len(differing), f'recorded {what}')} would {verb}:")
        for one in differing:
            talk(f"  {one.point}: {one.recorded} -> {one.proposed}")


def _question(plan: ConversionPlan) -> str:
    if not plan.message_changes:
        return "move them?"
    return "move and change them?" if plan.moves else "change them?"
