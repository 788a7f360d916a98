"""The list of keys, made from the bindings that are in force."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from rich.table import Table
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.screen import ModalScreen
from textual.widgets import Static


class HelpScreen(ModalScreen[None]):
    """Every key with what it does."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,question_mark,q", "dismiss", "Close", id="close-help", tooltip="Back to the plan"),
    ]

    def __init__(self, bindings: Sequence[Binding]) -> None:
        super().__init__()
        self.bindings = bindings

    def compose(self) -> ComposeResult:
        """Show the list; it scrolls when the screen is low."""
        with VerticalScroll(id="help") as box:
            box.border_title = "Keys"
            yield Static(self._listing())

    def on_mount(self) -> None:
        """Say how the list is closed."""
        self._say_more()

    def on_resize(self) -> None:
        """Say whether the list goes on below."""
        self.call_after_refresh(self._say_more)

    def _say_more(self) -> None:
        box = self.query_one("#help", VerticalScroll)
        box.border_subtitle = "↓ shows more, Esc closes" if box.max_scroll_y else "Esc closes"

    def _listing(self) -> Table:
        """Return one row per action, those of this program first; keys that do the same share a row."""
        keys: dict[str, list[str]] = {}
        meanings: dict[str, str] = {}
        for binding in sorted(self.bindings, key=lambda binding: not binding.id):
            if binding.description:
                meanings.setdefault(binding.action, binding.tooltip or binding.description)
                keys.setdefault(binding.action, []).append(self.app.get_key_display(binding))
        table = Table.grid(padding=(0, 2))
        for action, names in keys.items():
            table.add_row(", ".join(names), meanings[action])
        return table
