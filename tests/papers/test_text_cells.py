"""Text in columns, whatever a user wrote."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from retrofit.papers.text_cells import cells_of, cut, padded, row, wrapped

texts = st.text(st.sampled_from("ab-. \n\x1b\u202e") | st.characters(exclude_categories=["Cs"]), max_size=60)


def bare(text: str) -> str:
    """Return what is left of a text without spaces."""
    return "".join(text.split(" "))


@given(texts, st.integers(8, 40))
@example(".\x1f0\U00018d09ぁ", 16)
def test_nothing_is_lost_and_nothing_is_too_wide(text: str, width: int) -> None:
    """Every line fits its columns and holds only what prints; together the lines say all of the text."""
    lines = wrapped(text, width)
    assert all(cells_of(line) <= width for line in lines)
    assert all(line.isprintable() for line in lines)
    escaped = "".join(c if c.isprintable() else c.encode("unicode_escape").decode() for c in text)
    assert bare("".join(lines)) == bare(escaped)


@pytest.mark.parametrize(
    ("text", "cells"), [("Flûte", 5), ("Flu\u0302te", 5), ("オルガン", 8), ("ｱ", 1), ("♯", 1), ("Ａ", 2), ("", 0)]
)
def test_wide_characters_take_two_columns(text: str, cells: int) -> None:
    """Unicode Standard Annex #11: W and F are wide; a combining mark takes no column of its own."""
    assert cells_of(text) == cells
    assert unicodedata.east_asian_width("オ") == "W"


def test_long_words_break_after_a_hyphen() -> None:
    """An id breaks where a reader would break it, and later lines are indented."""
    assert wrapped("solo-tabs.tibia-clausa-tc-16", 16, "  ") == ["solo-tabs.tibia-", "  clausa-tc-16"]
    assert wrapped("one two three", 8, "  ") == ["one two", "  three"]


def test_rows_keep_their_columns() -> None:
    """Cells wrap each in its own column; an empty cell keeps its place."""
    assert row(("a", "one two", "x"), (3, 4, 1)) == ("a   one  x", "    two")
    assert padded("オ", 4) == "オ  "


def test_what_is_cut_ends_in_an_ellipsis() -> None:
    """A title too long for its line says that there is more."""
    assert cut("Great organ", 20) == "Great organ"
    assert cut("Great organ of the hall", 12) == "Great organ…"
