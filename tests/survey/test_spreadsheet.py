"""Cells that hold a user's words."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from retrofit.survey.spreadsheet import guard_cell, unguard_cell

texts = st.text(st.sampled_from("'=+-@\t\r\n\" a1") | st.characters(), max_size=12)


@given(texts)
def test_every_text_comes_back_exactly(text: str) -> None:
    """Guarding and unguarding gives the same text, whatever it was."""
    assert unguard_cell(guard_cell(text)) == text


@given(texts)
def test_no_guarded_cell_begins_like_a_formula(text: str) -> None:
    """No cell begins with a character that OWASP's page on CSV Injection lists."""
    assert not guard_cell(text).startswith(("=", "+", "-", "@", "\t", "\r", "\n"))


@pytest.mark.parametrize(
    ("text", "cell"),
    [("=1+1", "'=1+1"), ("-12", "'-12"), ("'=x", "''=x"), ("'tis", "'tis"), ("8'", "8'"), ("", "")],
)
def test_only_what_looks_like_a_formula_is_guarded(text: str, cell: str) -> None:
    """Ordinary words, apostrophes among them, are written as they are."""
    assert guard_cell(text) == cell
    assert unguard_cell(cell) == text
