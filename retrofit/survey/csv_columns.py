"""The columns of a contact list: which value of a point each one holds, and how a cell is written and read."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from retrofit.survey.contacts import ContactGroup, KeyGroup, ListedGroup, ShoeGroup
from retrofit.survey.spreadsheet import guard_cell, unguard_cell


@dataclass(frozen=True, slots=True)
class Column:
    """A column: its heading, the keys that lead to its value, and whether its cells are a user's own words."""

    name: str
    path: tuple[str, ...]
    own_words: bool = False


def _plain(*names: str) -> tuple[Column, ...]:
    return tuple(Column(name, (name,)) for name in names)


def _words(*names: str) -> tuple[Column, ...]:
    return tuple(Column(name, (name,), own_words=True) for name in names)


_SENDS = tuple(Column(f"sends_{key}", ("message", key)) for key in ("note", "controller", "program", "channel"))
_FOUND = (*_plain("condition"), *_words("strip", "tag", "wire_colour", "photo"))
_LISTED = (*_plain("id"), *_words("name", "footage"), *_plain("action", "rest"), *_SENDS, *_FOUND)
_KEYS = (*_plain("note", "contact"), *_SENDS, *_FOUND)
_SHOES = (
    *_plain("id"),
    *_words("name"),
    *_plain("sensor", "closed_reading", "open_reading", "stages", "style"),
    *_SENDS,
    *_FOUND,
)


def columns_of(group: ListedGroup) -> tuple[Column, ...]:
    """Return the columns of the contact list of `group`; the first is needed, the others may be left out."""
    match group:
        case KeyGroup():
            return _KEYS
        case ContactGroup():
            return _LISTED
        case ShoeGroup():
            return _SHOES


def write_cell(column: Column, value: Any) -> str:
    """Return the cell for a value; own words are guarded so that no spreadsheet takes them for a formula."""
    if value is None:
        return ""
    return guard_cell(str(value)) if column.own_words else str(value)


def read_cell(column: Column, cell: str) -> str | None:
    """Return what a cell says, None when it says nothing.  This undoes `write_cell` exactly."""
    if column.own_words:
        return unguard_cell(cell) or None
    return re.sub(r"^([0-9]+),([0-9]+)$", r"\1.\2", cell.strip()) or None
