"""The room Messages: what every point sends."""

from __future__ import annotations

from collections.abc import Iterable
from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.widget import Widget

from retrofit.cli.describe import message_words
from retrofit.plan.model import PointPlan
from retrofit.survey.save import set_value
from tui.desk.state import DeskState
from tui.dialogs.ask_text import AskTextDialog
from tui.rooms.room import Room
from tui.widgets.rows import Rows


class MessagesRoom(Room):
    """Points with their messages; a filter, and the channel of a division."""

    NAME: ClassVar[str] = "messages"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f", "filter", "Filter", id="filter", tooltip="Show only points in which some words stand"),
        Binding("c", "channel", "Channel", id="channel", tooltip="Give the division of this point another channel"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._filter = ""

    def compose_body(self) -> Iterable[Widget]:
        """Yield the table."""
        yield Rows("point", "sends", "name", "read at", title="Messages", id="messages")

    def show_job(self, state: DeskState) -> None:
        """Show the points that pass the filter."""
        points = state.plan.points if state.plan is not None else ()
        rows = [(point.point.id, _row(point)) for point in points]
        shown = [row for row in rows if self._filter.casefold() in " ".join(row[1]).casefold()]
        table = self.query_one(Rows)
        table.fill(shown)
        filtered = f", filtered by '{self._filter}'" if self._filter else ""
        table.border_title = f"{len(shown)} of {len(rows)} points{filtered}"

    def action_filter(self) -> None:
        """Ask for words, and show the points in which they stand; no words show all."""

        def filtered(answer: str | None) -> None:
            if answer is not None and self.app.state is not None:
                self._filter = answer
                self.show_job(self.app.state)

        lines = ["Show points with these words in id, name, message or address; none shows all:"]
        self.app.push_screen(AskTextDialog("Filter", lines, self._filter), filtered)

    def action_channel(self) -> None:
        """Ask for the channel of the division to which the point under the cursor belongs."""
        point = self._current()
        if point is None:
            return
        division = point.point.division

        def given(answer: str | None) -> None:
            if answer:
                path = ("divisions", division, "channel")
                self.app.edit(
                    f"{division} on channel {answer}", lambda document: set_value(document, path, int(answer))
                )

        self.app.push_screen(AskTextDialog("Channel", [f"Channel of {division}, 1 to 16:"], "", _not_a_channel), given)

    def _current(self) -> PointPlan | None:
        current, state = self.query_one(Rows).current, self.app.state
        points = state.plan.points if state is not None and state.plan is not None else ()
        return next((point for point in points if point.point.id == current), None)


def _row(plan: PointPlan) -> tuple[str, str, str, str]:
    name = " ".join(filter(None, (plan.point.name, plan.point.footage)))
    return plan.point.id, message_words(plan).replace(", channel ", " ch "), name, str(plan.address or "none")


def _not_a_channel(answer: str) -> str:
    return (
        "" if answer.isascii() and answer.isdigit() and 1 <= int(answer) <= 16 else "a channel from 1 to 16 is allowed"
    )
