"""The room Putback."""

from __future__ import annotations

from collections.abc import Iterable
from typing import ClassVar

from textual.widget import Widget

from tui.desk.state import DeskState
from tui.rooms.room import Room
from tui.widgets.rows import Rows


class PutbackRoom(Room):
    """To be built."""

    NAME: ClassVar[str] = "putback"

    def compose_body(self) -> Iterable[Widget]:
        """Yield one list."""
        yield Rows("group", "read by", title="Groups", id="groups")

    def show_job(self, state: DeskState) -> None:
        """Show the groups."""
        assert state.plan is not None
        self.query_one(Rows).fill([(group.id, (group.id, group.interface)) for group in state.plan.groups])
