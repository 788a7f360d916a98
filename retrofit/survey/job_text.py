"""The canonical text of a job: TOML in which the same job always gives the same characters.

It holds everything that the job says, and nothing twice: what equals its default is left out, as in a file written by
hand.  Comments of the file that the job was read from are no part of the job, and so not of this text.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from typing import Any

from retrofit.survey.job import Job
from retrofit.survey.toml_text import toml_string

_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_REMARKS = frozenset({"notes", "remark"})
_RECORDS_OF_READINGS = frozenset({"readings", "diode_readings"})
"""Left whole even without remarks: a record that was locked as found must stay what was locked."""
_NAMING = ("id", "note", "contact", "name")
"""What says which row it is stands first in a row."""


def job_text(job: Job) -> str:
    """Return the job as TOML that reads back as an equal job."""
    return "\n".join(_table((), job.model_dump(exclude_defaults=True))) + "\n"


def without_remarks(job: Job) -> Job:
    """Return the job without its dated notes and remarks; whatever it plans is the same."""
    return Job.model_validate(_stripped(job.model_dump(exclude_defaults=True)))


def _stripped(value: Any) -> Any:
    match value:
        case dict():
            return {
                key: inner if key in _RECORDS_OF_READINGS else _stripped(inner)
                for key, inner in value.items()
                if key not in _REMARKS
            }
        case list() | tuple():
            return [_stripped(inner) for inner in value]
        case _:
            return value


def _table(path: tuple[str, ...], content: Mapping[str, Any]) -> Iterator[str]:
    """Yield the lines of a table: plain entries first, because what follows a header belongs to that header."""
    stated = {key: value for key, value in content.items() if value is not None}
    below = {key: value for key, value in stated.items() if _is_below(path, value)}
    for key, value in stated.items():
        if key not in below:
            yield f"{_key(key)} = {_rows(value) if _is_list_of_tables(value) else _value(value)}"
    for key, value in below.items():
        name = ".".join(map(_key, (*path, key)))
        if isinstance(value, Mapping):
            yield from ("", f"[{name}]", *_table((*path, key), value))
        else:
            for member in value:
                yield from ("", f"[[{name}]]", *_table((*path, key), member))


def _is_below(path: tuple[str, ...], value: Any) -> bool:
    """Return whether a value gets a header of its own: every table, and at the top the lists of tables."""
    return isinstance(value, Mapping) or (not path and _is_list_of_tables(value))


def _is_list_of_tables(value: Any) -> bool:
    return isinstance(value, list | tuple) and bool(value) and isinstance(value[0], Mapping)


def _key(key: str) -> str:
    return key if _BARE_KEY.fullmatch(key) else toml_string(key)


def _value(value: Any) -> str:
    match value:
        case bool():
            return "true" if value else "false"
        case str():
            return toml_string(value)
        case int() | float():
            return repr(value)
        case date():
            return value.isoformat()
        case Mapping():
            return _inline(value)
        case list() | tuple():
            return _list(value)
    raise TypeError(f"a job holds {value!r}, which TOML cannot")


def _inline(content: Mapping[str, Any]) -> str:
    order = sorted(content, key=lambda key: key not in _NAMING)
    pairs = [f"{_key(key)} = {_value(content[key])}" for key in order if content[key] is not None]
    return f"{{ {', '.join(pairs)} }}" if pairs else "{}"


def _list(members: Sequence[Any]) -> str:
    return f"[{', '.join(map(_value, members))}]"


def _rows(members: Sequence[Any]) -> str:
    return "[\n" + "".join(f"    {_value(member)},\n" for member in members) + "]"
