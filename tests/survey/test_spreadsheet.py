"""Cells that hold a user's words."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from retrofit.survey.spreadsheet import guard_cell, unguard_cell

texts = st.text(st.sampled_from("'=+-@\t\r\n\" a1\\xuU05c\x1b\u202e") | st.characters(), max_size=12)


@given(texts)
def test_every_text_comes_back_exactly(text: str) -> None:
    """Guarding and unguarding gives the same text, whatever it was."""
    assert unguard_cell(guard_cell(text)) == text


@given(texts)
def test_no_guarded_cell_begins_like_a_formula(text: str) -> None:
    """No cell begins with a character that OWASP's page on CSV Injection lists."""
    assert not guard_cell(text).startswith(("=", "+", "-", "@", "\t", "\r", "\n"))


@given(texts)
def test_no_guarded_cell_hides_a_character(text: str) -> None:
    """What does not print by Unicode (str.isprintable) is shown as its number; line feeds and tabs stay."""
    assert all(c.isprintable() or c in "\n\t" for c in guard_cell(text))


@pytest.mark.parametrize(
    ("text", "cell"),
    [
        ("Vox\x1b[2J", r"Vox\x1b[2J"),
        ("\u202etibia", r"\u202etibia"),
        ("a\U000e0001", r"a\U000e0001"),
        ("\r=1", r"\x0d=1"),
        (r"written \x1b", r"written \x5cx1b"),
        (r"photos\new\x41.jpg", r"photos\new\x41.jpg"),
        ("back\\\x07", r"back\\x07"),
    ],
)
def test_what_does_not_print_is_shown_as_its_number(text: str, cell: str) -> None:
    """Controls and direction marks are seen, and a backslash of the user's own stays what it was."""
    assert guard_cell(text) == cell
    assert unguard_cell(cell) == text


@pytest.mark.parametrize(
    ("text", "cell"),
    [("=1+1", "'=1+1"), ("-12", "'-12"), ("'=x", "''=x"), ("'tis", "'tis"), ("8'", "8'"), ("", "")],
)
def test_only_what_looks_like_a_formula_is_guarded(text: str, cell: str) -> None:
    """Ordinary words, apostrophes among them, are written as they are."""
    assert guard_cell(text) == cell
    assert unguard_cell(cell) == text
