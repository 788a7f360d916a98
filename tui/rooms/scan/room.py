"""The room Scan: where the time of every press goes, and what the wire can carry."""

from __future__ import annotations

from collections.abc import Iterable
from typing import ClassVar

from textual.widget import Widget

from retrofit.cli.timing import report_lines
from retrofit.plan.timing_report import timing_report
from tui.desk.state import DeskState
from tui.rooms.room import Room
from tui.widgets.page import Page


class ScanRoom(Room):
    """The timing report."""

    NAME: ClassVar[str] = "scan"

    def compose_body(self) -> Iterable[Widget]:
        """Yield the report."""
        yield Page("Scan and timing", id="timing")

    def show_job(self, state: DeskState) -> None:
        """Show the report of the plan."""
        if state.plan is not None:
            self.query_one(Page).show(report_lines(timing_report(state.plan)))
