"""Cells of spreadsheets that hold a user's words: shown as written, never worked out as a formula.

A spreadsheet may take a cell that begins with = + - @, a tab or a line end for a formula (OWASP, CSV Injection).  Such
a cell gets an apostrophe in front, which it reads as "this is text"; so does one that begins with apostrophes and
then such a character, so that every text comes back exactly.
"""

from __future__ import annotations

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n")


def guard_cell(text: str) -> str:
    """Return `text` such that a spreadsheet shows it and does not work it out."""
    return f"'{text}" if _begins_like_a_formula(text) else text


def unguard_cell(cell: str) -> str:
    """Return the text that `guard_cell` was given."""
    return cell[1:] if cell.startswith("'") and _begins_like_a_formula(cell) else cell


def _begins_like_a_formula(text: str) -> bool:
    return text.lstrip("'").startswith(FORMULA_STARTS)
