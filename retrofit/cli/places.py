"""On which line of the job file the subject of a finding stands."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from contextlib import suppress
from typing import Any

from retrofit.survey.base import parse_note
from retrofit.survey.faults import dotted
from retrofit.survey.toml_lines import index_lines


class Places:
    """The lines of one job file by dotted key and by point id."""

    def __init__(self, text: str) -> None:
        data = tomllib.loads(text)
        self._lines = dict(_dotted_lines(text, data))
        self._keys = dict(_point_keys(data))

    def line(self, subject: str) -> int | None:
        """Return the line of a dotted key or point id, else of the table around it, else None."""
        key = self._keys.get(subject, subject)
        candidates = [*_shorter(key), f"groups.{subject.partition('.')[0]}"]
        return next((self._lines[name] for name in candidates if name in self._lines), None)


def _dotted_lines(text: str, data: dict[str, Any]) -> Iterator[tuple[str, int]]:
    """Yield the line of every dotted key; none where the walk over the text meets what it does not know."""
    with suppress(ValueError, IndexError, RecursionError):
        yield from ((dotted(path, data), line) for path, line in index_lines(text).items())


def _shorter(key: str) -> Iterator[str]:
    parts = key.split(".")
    return (".".join(parts[:length]) for length in range(len(parts), 0, -1))


def _point_keys(data: dict[str, Any]) -> Iterator[tuple[str, str]]:
    """Yield each point that the file writes out, by its id, with its dotted key."""
    for group in data["groups"]:
        first = group["contacts"][0]["id"] if "contacts" in group else "key"
        for position, point in enumerate(group.get("points", ())):
            yield f"{group['id']}.{_point_name(point, first)}", _dotted_point(group["id"], point, position)


def _dotted_point(group: str, point: dict[str, Any], position: int) -> str:
    return f"groups.{group}.points.{point.get('id', f'#{position + 1}')}"


def _point_name(point: dict[str, Any], first_contact: str) -> str:
    if "id" in point:
        return str(point["id"])
    contact = point.get("contact", first_contact)
    return f"{parse_note(point['note'])}{'' if contact == first_contact else f'.{contact}'}"
