"""Lines as they print: never folded, and only what is on the screen is drawn, however many there are."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from rich.segment import Segment
from textual.binding import BindingType
from textual.geometry import Size
from textual.scroll_view import ScrollView
from textual.strip import Strip

from retrofit.survey.problems import printable
from tui.widgets.page import Page


class Sheet(ScrollView, can_focus=True, inherit_bindings=False):
    """A printed page that is scrolled by the keys of a `Page`; 80 columns fit a terminal of 80."""

    DEFAULT_CSS = "Sheet { height: 1fr; scrollbar-size: 0 0; overflow-x: auto; }"
    BINDINGS: ClassVar[list[BindingType]] = list(Page.BINDINGS)

    def __init__(self, id: str | None = None) -> None:  # noqa: A002  # textual's own word
        super().__init__(id=id)
        self.lines: list[str] = []

    def show(self, lines: Sequence[str]) -> None:
        """Show these lines in place of all others; the place that is looked at stays as far as it can."""
        self.lines = [printable(line) for line in lines]
        self.virtual_size = Size(max(map(len, self.lines), default=0), len(self.lines))
        self.refresh()

    def render_line(self, y: int) -> Strip:
        """Return one line of what is looked at."""
        left, top = self.scroll_offset
        width = self.scrollable_content_region.width
        words = self.lines[top + y] if top + y < len(self.lines) else ""
        return Strip([Segment(words[left:], self.rich_style)]).adjust_cell_length(width, self.rich_style)
