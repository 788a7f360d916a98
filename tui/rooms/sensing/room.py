"""The room Sensing: the circuit of every group, and what the organ feels of it."""

from __future__ import annotations

from collections.abc import Iterable
from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.widget import Widget

from retrofit.cli.sensing import sensing_lines
from retrofit.survey.save import set_value
from tui.desk.state import DeskState
from tui.dialogs.ask import AskDialog
from tui.rooms.room import Room
from tui.widgets.page import Page


class SensingRoom(Room):
    """The circuits with their margins, and the switch that keeps every original circuit."""

    NAME: ClassVar[str] = "sensing"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("o", "originals", "Originals", id="originals", tooltip="Keep every original circuit, or take over"),
    ]

    def compose_body(self) -> Iterable[Widget]:
        """Yield the circuits."""
        yield Page("Sensing", id="circuits")

    def show_job(self, state: DeskState) -> None:
        """Show the circuits of the plan."""
        if state.plan is not None:
            self.query_one(Page).show(sensing_lines(state.plan))

    def action_originals(self) -> None:
        """Ask, then switch whether every original circuit stays."""
        state = self.app.state
        if state is None or state.job is None:
            return
        keep = not state.job.originals.preserved
        words = "every original circuit stays" if keep else "the console is taken over"
        lines = [f"From now on: {words}.", "Circuits, taps, papers and findings follow; Ctrl+Z takes it back."]

        def answered(answer: bool | None) -> None:
            if answer:
                self.app.edit(words, lambda document: set_value(document, ("originals", "preserved"), keep))

        self.app.push_screen(AskDialog("Original circuits", lines), answered)
