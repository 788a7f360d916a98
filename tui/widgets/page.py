"""Lines to read: a page that scrolls by keys and takes text as it is."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.widgets import Static

from tui.widgets.words import plain_lines


class Page(VerticalScroll, can_focus=True, inherit_bindings=False):
    """A page of lines."""

    DEFAULT_CSS = """
    Page { height: 1fr; border: round $foreground 40%; padding: 0 1; scrollbar-size: 1 1; }
    Page:focus { border: double $foreground; border-title-style: bold; }
    Page > Static { height: auto; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "scroll_up", "Line up", show=False, id="page-up-line", tooltip="Scroll up by a line"),
        Binding("down", "scroll_down", "Line down", show=False, id="page-down-line", tooltip="Scroll down by a line"),
        Binding("pageup", "page_up", "Page up", show=False, id="page-up", tooltip="Scroll up by a page"),
        Binding(
            "pagedown,space", "page_down", "Page down", show=False, id="page-down", tooltip="Scroll down by a page"
        ),
        Binding("home", "scroll_home", "Top", show=False, id="page-top", tooltip="Scroll to the beginning"),
        Binding("end", "scroll_end", "End", show=False, id="page-end", tooltip="Scroll to the end"),
    ]

    def __init__(self, title: str = "", id: str | None = None) -> None:  # noqa: A002  # textual's own word
        super().__init__(id=id)
        self.border_title = title
        self.lines: list[str] = []

    def compose(self) -> ComposeResult:
        """Show nothing yet."""
        yield Static(markup=False)

    def show(self, lines: Sequence[str]) -> None:
        """Show these lines in place of all others."""
        self.lines = list(lines)
        self.query_one(Static).update(plain_lines(self.lines))
