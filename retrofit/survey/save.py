"""Edits of a job file that leave the user's comments, order and spelling alone.

Every edit is made twice: on the document with its comments and on the plain data.  The edited document must read back
as exactly that data and as a sound job before a byte is written.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date
from enum import Enum
from pathlib import Path
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import Array

from retrofit.survey.atomic_write import SaveError, write_atomically
from retrofit.survey.base import Record
from retrofit.survey.contacts import ListedGroup, listed_identity
from retrofit.survey.instrument import Progress
from retrofit.survey.load import parse_job
from retrofit.survey.problems import did_you_mean, printable, shown
from retrofit.survey.system_calls import SystemCalls
from retrofit.survey.user_text import decode_user_text, read_user_bytes

Edit = Callable[[Any], None]
"""Changes a document in place, through what a `dict` and a `list` can do."""


def edit_job(path: Path, edit: Edit, system: SystemCalls | None = None) -> None:
    """Apply `edit` to the job file at `path` and save it atomically with a backup.

    Raises `JobFileError` when the file is not a sound job before or after the edit, and `SaveError` when it cannot be
    written or the edit does not fit.
    """
    _rewrite(path, lambda text: edited_text(text, str(path), edit), system)


def _rewrite(path: Path, edited: Callable[[str], str], system: SystemCalls | None) -> None:
    content = read_user_bytes(path)
    text = decode_user_text(content, str(path))
    write_atomically(path, edited(text), content, system)


def edited_text(text: str, file_name: str, edit: Edit) -> str:
    """Return the text of a job file with `edit` applied and everything else untouched."""
    parse_job(text, file_name)
    wanted = tomllib.loads(text)
    edit(wanted)
    try:
        document = tomlkit.parse(text)
        edit(document)
        edited = tomlkit.dumps(document)
    except TOMLKitError as error:
        raise SaveError(f"{printable(file_name)}: not saved, {printable(str(error))}; edit the file by hand") from error
    parse_job(edited, file_name)
    if tomllib.loads(edited) != wanted:
        raise SaveError(f"{printable(file_name)}: not saved, the edit would not have read back; edit the file by hand")
    return edited


def record_addresses(path: Path, addresses: Mapping[str, str], system: SystemCalls | None = None) -> None:
    """Make `addresses` (point id to address) the recorded addresses of the job, in place of all earlier ones."""
    edit_job(path, lambda document: _replace_entries(document, "addresses", addresses), system)


def record_plan(
    path: Path,
    addresses: Mapping[str, str],
    messages: Mapping[str, str],
    progress: Mapping[str, Progress] | None = None,
    system: SystemCalls | None = None,
) -> None:
    """Make these the recorded addresses and messages of the job (by point id), in place of all earlier ones.

    `progress` says, by division, how far the conversion has come; it is written by the same save.
    """

    def edit(document: Any) -> None:
        _replace_entries(document, "addresses", addresses)
        _replace_entries(document, "messages", messages)
        for division, step in (progress or {}).items():
            set_value(document, ("divisions", division, "progress"), step.value)

    edit_job(path, edit, system)


def _replace_entries(document: Any, table: str, entries: Mapping[str, str]) -> None:
    """Bring a table to `entries`; a line that stays as it was keeps its comment and spelling."""
    recorded = document.setdefault(table, {})
    for name in [name for name in recorded if name not in entries]:
        del recorded[name]
    for name, entry in entries.items():
        if recorded.get(name) != entry:
            recorded[name] = entry


def set_progress(path: Path, division: str, progress: Progress, system: SystemCalls | None = None) -> None:
    """Record how far the conversion of a division has come."""
    edit_job(path, lambda document: set_value(document, ("divisions", division, "progress"), progress.value), system)


def record_rehearsals(
    path: Path, names: Iterable[str], when: date, initials: str, system: SystemCalls | None = None
) -> None:
    """Record that the steps or divisions of these names were rehearsed, in place of earlier rehearsals of them."""
    edit_job(path, with_rehearsals(names, when, initials), system)


def with_rehearsals(names: Iterable[str], when: date, initials: str) -> Edit:
    """Return the edit that records a rehearsal of the steps or divisions of these names."""
    rehearsed = tuple(names)

    def edit(document: Any) -> None:
        recorded = document.setdefault("rehearsals", {})
        for name in rehearsed:
            recorded[name] = {"date": when, "initials": initials}

    return edit


def without_rehearsal(name: str) -> Edit:
    """Return the edit that takes the rehearsal of a step or division away."""

    def edit(document: Any) -> None:
        document.get("rehearsals", {}).pop(name, None)

    return edit


def append_reading(path: Path, group: str, reading: Mapping[str, Any], system: SystemCalls | None = None) -> None:
    """Add a reading (the fields of a line reading, as typed) after those that a group has; none is ever replaced."""
    edit_job(path, with_reading(group, reading), system)


def with_reading(group: str, reading: Mapping[str, Any]) -> Edit:
    """Return the edit that adds a reading after those that a group has."""

    def edit(document: Any) -> None:
        readings = _member(document["groups"], group).setdefault("wiring", {}).setdefault("readings", [])
        add_row(readings, reading)

    return edit


def add_row(rows: Any, fields: Mapping[str, Any]) -> None:
    """Add a row at the end of a list of tables, written as the list is."""
    row: Any = {}
    if isinstance(rows, Array):
        rows.multiline(True)
        row = tomlkit.inline_table()
    row.update(fields)
    rows.append(row)


def set_value(document: Any, path: Sequence[str], value: Any) -> None:
    """Set the value at `path`, in which members of lists are named by their id; tables on the way are added."""
    place = document
    for step in path[:-1]:
        place = _member(place, step) if isinstance(place, list) else place.setdefault(step, {})
    if place.get(path[-1]) != value:
        place[path[-1]] = value


def _member(members: list[Any], name: str) -> Any:
    for member in members:
        if member.get("id") == name:
            return member
    ids = [str(member.get("id")) for member in members]
    remedy = did_you_mean(name, ids) or f"known are {', '.join(ids)}"
    raise SaveError(f"not saved, there is no {shown(name)}; {remedy}")


def replace_points(path: Path, group: ListedGroup, system: SystemCalls | None = None) -> None:
    """Give the group of the same id in the job file the points of `group`.

    A point that stays keeps its comments and whatever is not changed; its place follows the new order.
    """
    _rewrite(path, lambda text: text_with_points(text, str(path), group), system)


def text_with_points(text: str, file_name: str, group: ListedGroup) -> str:
    """Return the text of a job file in which the group of the same id has the points of `group`."""
    job = parse_job(text, file_name)
    before = next((old for old in job.groups if old.id == group.id), None)
    if not isinstance(before, ListedGroup) or type(before) is not type(group):
        remedy = did_you_mean(group.id, [old.id for old in job.groups]) or "add the group first"
        raise SaveError(f"{printable(file_name)}: not saved, there is no such group {shown(group.id)}; {remedy}")

    def edit(document: Any) -> None:
        table = _member(document["groups"], group.id)
        if group.points:
            _rearrange(table.setdefault("points", []), before, group)
        else:
            table.pop("points", None)

    return edited_text(text, file_name, edit)


def _rearrange(rows: Any, before: ListedGroup, after: ListedGroup) -> None:
    """Bring `rows`, which hold the points of `before`, to those of `after` by as few changes as will do."""
    known = {listed_identity(before, point): point for point in before.points}
    order = list(known)
    wanted = {listed_identity(after, point): point for point in after.points}
    for place in range(len(order) - 1, -1, -1):
        if order[place] not in wanted:
            del rows[place], order[place]
    for place, (name, point) in enumerate(wanted.items()):
        if name not in known:
            rows.insert(place, _plain(point))
            order.insert(place, name)
            continue
        at = order.index(name)
        if at != place:
            row = rows[at]
            del rows[at]
            rows.insert(place, row)
            order.insert(place, order.pop(at))
        _update(rows[place], known[name], point)


def _update(row: Any, before: Record, after: Record) -> None:
    """Write the fields that differ; the user's own spelling of equal ones stays."""
    plain = _plain(after)
    for key in type(after).model_fields:
        if getattr(before, key) == getattr(after, key):
            continue
        if key in plain:
            row[key] = plain[key]
        else:
            del row[key]


def _plain(record: Record) -> dict[str, Any]:
    """Return what differs from the defaults, as TOML knows it."""
    plain: dict[str, Any] = _plain_value(record.model_dump(exclude_defaults=True))
    return plain


def _plain_value(value: Any) -> Any:
    match value:
        case Enum():
            return value.value
        case dict():
            return {key: _plain_value(inner) for key, inner in value.items() if inner is not None}
        case list() | tuple():
            return [_plain_value(inner) for inner in value]
        case _:
            return value
