"""Cells of spreadsheets that hold a user's words: shown as written, never worked out as a formula.

A spreadsheet may take a cell that begins with = + - @, a tab or a line end for a formula (OWASP, CSV Injection).  Such
a cell gets an apostrophe in front, which it reads as "this is text"; so does one that begins with apostrophes and
then such a character.  What would not print (controls, direction marks) is shown as its number, `\\x1b` or `\\u202e`,
and a backslash that would be taken for the beginning of such a number as `\\x5c`; line feeds and tabs are left, because
a spreadsheet shows them as what they are.  So every text comes back exactly.
"""

from __future__ import annotations

import re

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n")
_LEFT = "\n\t"
_NUMBER = re.compile(r"\\(?:x([0-9a-f]{2})|u([0-9a-f]{4})|U(000[0-9a-f]{5}|0010[0-9a-f]{4}))")


def guard_cell(text: str) -> str:
    """Return `text` such that a spreadsheet shows all of it and does not work it out."""
    shown = "".join(map(_visible, _NUMBER.sub(_without_number, text)))
    return f"'{shown}" if _begins_like_a_formula(shown) else shown


def unguard_cell(cell: str) -> str:
    """Return the text that `guard_cell` was given."""
    shown = cell[1:] if cell.startswith("'") and _begins_like_a_formula(cell) else cell
    return _NUMBER.sub(lambda found: _meant(found) or found[0], shown)


def _begins_like_a_formula(text: str) -> bool:
    return text.lstrip("'").startswith(FORMULA_STARTS)


def _visible(character: str) -> str:
    if character.isprintable() or character in _LEFT:
        return character
    return character.encode("unicode_escape", "backslashreplace").decode("ascii").replace("\\r", r"\x0d")


def _without_number(found: re.Match[str]) -> str:
    """Return the user's own words again where they look like a number, so that they do not read as one."""
    return r"\x5c" + found[0][1:] if _meant(found) else found[0]


def _meant(found: re.Match[str]) -> str:
    """Return the character that a number stands for; nothing for one that is never written as a number."""
    character = chr(int(found[1] or found[2] or found[3], 16))
    return "" if character in _LEFT or (character.isprintable() and character != "\\") else character
