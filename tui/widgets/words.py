"""User text on the screen: always taken as it is, and short enough for its column."""

from __future__ import annotations

from rich.text import Text

from retrofit.survey.problems import printable

MARK = "› "
"""Stands before the row under the cursor, so that it is found without colour."""

NO_MARK = " " * len(MARK)


def plain(words: object) -> Text:
    """Return text that shows `words` as they are: never as markup, and nothing in it moves the cursor."""
    return Text(printable(str(words)), no_wrap=True)


def plain_lines(lines: list[str]) -> Text:
    """Return lines that are shown as they are and wrap where the screen ends."""
    return Text("\n".join(map(printable, lines)))


def cut(words: str, longest: int) -> str:
    """Return words of at most so many characters, a cut shown by its dots."""
    return words if len(words) <= longest else f"{words[: longest - 1]}…"
