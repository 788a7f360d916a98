"""The room Putback: how everything comes out again."""

from __future__ import annotations

from collections.abc import Iterable
from typing import ClassVar

from textual.widget import Widget

from retrofit.papers.putback_sheet import putback_sheet_text
from retrofit.plan.gate import papers_allowed
from retrofit.plan.ledger import ledger
from retrofit.plan.putback import calls_for_putback
from tui.desk.state import DeskState
from tui.rooms.room import Room
from tui.widgets.page import Page


class PutbackRoom(Room):
    """The putback sheet as it prints."""

    NAME: ClassVar[str] = "putback"

    def compose_body(self) -> Iterable[Widget]:
        """Yield the sheet."""
        yield Page("How everything comes out again", id="sheet")

    def show_job(self, state: DeskState) -> None:
        """Show the sheet, or why there is none."""
        self.query_one(Page).show(_lines(state))


def _lines(state: DeskState) -> list[str]:
    plan = state.plan
    if plan is None or not calls_for_putback(plan.job):
        return ["Nothing of an original is kept or tapped in this job, so nothing has to come out again."]
    allowed, why = papers_allowed(plan)
    if not allowed:
        return ["The sheet leads hands into an instrument that is powered, and is withheld:", *map(str, why)]
    steps = ledger(plan.job)
    return [f"{len(steps)} steps went in.", "", *putback_sheet_text(plan).splitlines()]
