"""Paragraphs to read: folded to the width that there is, each with what stands before its lines."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass

from retrofit.survey.problems import printable
from tui.widgets.page import Page


@dataclass(frozen=True, slots=True)
class Said:
    """Words of one paragraph: what stands before its first line, and before those that follow.

    `drawn` words are a line of a drawing, which is never folded.
    """

    words: str
    first: str = ""
    rest: str = ""
    drawn: bool = False

    def lines(self, columns: int) -> list[str]:
        """Return the paragraph in lines of at most so many columns."""
        words = printable(self.words)
        if self.drawn or not words:
            return [(self.first + words).rstrip()]
        return textwrap.wrap(words, max(columns, 20), initial_indent=self.first, subsequent_indent=self.rest)


class Pane(Page):
    """A page of paragraphs, folded anew when the screen changes its size."""

    def __init__(self, title: str = "", id: str | None = None) -> None:  # noqa: A002  # textual's own word
        super().__init__(title, id)
        self._said: Sequence[Said] = ()

    def tell(self, said: Sequence[Said]) -> None:
        """Show these paragraphs in place of all others, from the top."""
        self._said = said
        self._fold()
        self.scroll_home(animate=False)

    def go_to(self, words: str) -> None:
        """Scroll until the first line that is these words is at the top."""
        if words in self.lines:
            self.scroll_to(y=self.lines.index(words), animate=False)

    def on_resize(self) -> None:
        """Fold the text for the new width."""
        self._fold()

    def go_on(self, headings: Sequence[str], by: int) -> None:
        """Scroll to the heading before or after the one at the top; past the last, and at the end, back to the top."""
        at = [self.lines.index(words) for words in headings if words in self.lines]
        top = round(self.scroll_target_y)
        left = [place for place in at if (place > top if by > 0 else place < top)]
        ended = by > 0 and top >= self.max_scroll_y
        place = 0 if not left or ended else left[0] if by > 0 else left[-1]
        self.scroll_to(y=place, animate=False)

    def _fold(self) -> None:
        columns = self.scrollable_content_region.width
        self.show([line for said in self._said for line in said.lines(columns)])
