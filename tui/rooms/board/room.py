"""The room Board: what stands in the way of a build, and the build."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import ClassVar

from textual import on
from textual.binding import Binding, BindingType
from textual.widget import Widget
from textual.widgets import DataTable

from retrofit.cli.building import Built, write_build
from retrofit.cli.output import Stop, counted
from retrofit.plan.gate import papers_allowed
from retrofit.plan.model import ConversionPlan, Finding
from tui.desk.state import DeskState
from tui.dialogs.ask_text import AskTextDialog
from tui.dialogs.work import Done, Progress, WorkDialog
from tui.rooms.room import Room
from tui.widgets.page import Page
from tui.widgets.rows import Rows


class BoardRoom(Room):
    """Findings with their remedies, and the files for the controller and the workshop."""

    NAME: ClassVar[str] = "board"
    DEFAULT_CSS = "BoardRoom Rows { height: 1fr; } BoardRoom Page { height: 9; }"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("w", "write", "Write", id="write-build", tooltip="Write the firmware and the papers into a folder"),
    ]

    def compose_body(self) -> Iterable[Widget]:
        """Yield the findings, and the one under the cursor in full."""
        yield Rows("severity", "rule", "subject", title="Findings", id="findings")
        yield Page("Finding", id="finding")

    def show_job(self, state: DeskState) -> None:
        """Show the findings of the plan, and whether it can be built."""
        plan = _plan(state)
        rows = [(str(number), _row(finding)) for number, finding in enumerate(plan.findings)]
        findings = self.query_one(Rows)
        findings.fill(rows)
        findings.border_title = f"{plan.board}: {_standing(plan)}"
        self._tell()

    @on(DataTable.RowHighlighted)
    def _tell(self) -> None:
        current, state = self.query_one(Rows).current, self.app.state
        if state is None or state.plan is None:
            return
        lines = ["No finding: w writes the firmware and the papers."]
        if current is not None and int(current) < len(state.plan.findings):
            lines = _lines(state.plan.findings[int(current)])
        self.query_one(Page).show(lines)

    def action_write(self) -> None:
        """Ask for a folder, and write everything there."""
        state = self.app.state
        if state is None or state.plan is None:
            self.say("there is no plan to write", bad=True)
        elif state.plan.errors:
            self.say(f"nothing written: {counted(len(state.plan.errors), 'error')} above stop the build", bad=True)
        else:
            folder = str(state.path.with_suffix(""))
            lines = ["Firmware and papers go into this folder; files that were edited there are not replaced."]
            self.app.push_screen(AskTextDialog("Write", lines, folder), self._write)

    def _write(self, answer: str | None) -> None:
        state = self.app.state
        if not answer or state is None or state.plan is None:
            return
        plan, folder = state.plan, Path(answer).expanduser()

        def work(progress: Progress) -> Built:
            progress.tell(f"writing into {folder} …")
            return write_build(plan, folder)

        self.app.push_screen(WorkDialog("Write firmware and papers", work), lambda done: self._written(folder, done))

    def _written(self, folder: Path, done: Done[Built] | None) -> None:
        if done is None:
            self.say("cancelled: nothing was written")
        elif isinstance(done.error, Stop):
            self.say(*done.error.lines, bad=True)
        elif done.error is not None:
            self.say(f"{type(done.error).__name__}: {done.error}", bad=True)
        elif done.value is not None:
            built = done.value
            self.say(
                f"{counted(len(built.paths), 'file')} in {folder}, {len(built.written)} of them written",
                "next: open the sketch folder in the Arduino IDE; ABOUT-THIS-SKETCH.txt says how",
            )


def _plan(state: DeskState) -> ConversionPlan:
    if state.plan is None:
        raise ValueError("this room is only shown a job that has a plan")
    return state.plan


def _standing(plan: ConversionPlan) -> str:
    if plan.errors:
        return f"{counted(len(plan.errors), 'error')} stop the build"
    if not papers_allowed(plan)[0]:
        return "the sketch can be written; papers that lead into the instrument are withheld"
    return "can be written"


def _row(finding: Finding) -> tuple[str, str, str]:
    return ("waived" if finding.waived else finding.severity.value), finding.rule, finding.subject


def _lines(finding: Finding) -> list[str]:
    waived = [f"waived: {finding.waived}"] if finding.waived else []
    said = [f"found:   {finding.found}", f"allowed: {finding.allowed}", f"remedy:  {finding.remedy}"]
    return [f"{finding.rule}, {finding.subject}", *said, *waived]
