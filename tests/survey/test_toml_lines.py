"""Lines of keys: the walk over a TOML text finds every key of it, on the line where it stands."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from typing import Any

import pytest
import tomlkit
from hypothesis import given
from hypothesis import strategies as st

from retrofit.survey.toml_lines import index_lines, line_of
from tests.survey.places import DEMO, GOOD

DOCUMENT = '''a = 1
"b c".d = [ 1,   # one
  [2, 3],
  { e = "]", f.g = 5 },
]
text = """
[not.a.table]
quote \\""" and a backslash \\\\"""
literal = \'\'\'
x = 1\'\'\'\'
after = true
[t."u.v"]  # comment = 3
w = { }
[[list]]
n = 1
[list.sub]
m = 2
[[list.inner]]
[[list.inner]]
k = 2026-01-31 10:00:00
[[list]]
n = "#"
'''


def paths(value: Any, path: tuple[str | int, ...] = ()) -> Iterator[tuple[str | int, ...]]:
    """Yield the path of everything inside `value`."""
    members = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, member in members:
        yield (*path, key)
        yield from paths(member, (*path, key))


def test_every_place_of_a_document_has_its_line() -> None:
    """Dotted keys, lists over several lines, strings that look like keys, and lists of tables."""
    lines = index_lines(DOCUMENT)

    expected = {
        ("a",): 1,
        ("b c",): 2,
        ("b c", "d"): 2,
        ("b c", "d", 0): 2,
        ("b c", "d", 1): 3,
        ("b c", "d", 1, 0): 3,
        ("b c", "d", 1, 1): 3,
        ("b c", "d", 2): 4,
        ("b c", "d", 2, "e"): 4,
        ("b c", "d", 2, "f"): 4,
        ("b c", "d", 2, "f", "g"): 4,
        ("text",): 6,
        ("literal",): 9,
        ("after",): 11,
        ("t",): 12,
        ("t", "u.v"): 12,
        ("t", "u.v", "w"): 13,
        ("list",): 14,
        ("list", 0): 14,
        ("list", 0, "n"): 15,
        ("list", 0, "sub"): 16,
        ("list", 0, "sub", "m"): 17,
        ("list", 0, "inner"): 18,
        ("list", 0, "inner", 0): 18,
        ("list", 0, "inner", 1): 19,
        ("list", 0, "inner", 1, "k"): 20,
        ("list", 1): 21,
        ("list", 1, "n"): 22,
    }
    assert lines == expected
    assert set(paths(tomllib.loads(DOCUMENT))) == set(expected)


@pytest.mark.parametrize("path", [GOOD, DEMO / "gutted_home.toml", DEMO / "theatre.toml"], ids=lambda p: p.name)
def test_every_key_of_a_job_file_is_found_on_a_line_that_holds_it(path: Any) -> None:
    """The places are those of the parser of the standard library, and each line holds its key."""
    text = path.read_text(encoding="utf-8")
    lines = index_lines(text)

    assert set(lines) == set(paths(tomllib.loads(text)))
    rows = text.splitlines()
    assert [p for p, line in lines.items() if isinstance(p[-1], str) and p[-1] not in rows[line - 1]] == []


KEYS = st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=6)
VALUES = st.recursive(
    st.one_of(st.integers(-9, 9), st.booleans(), st.text(st.characters(exclude_categories=["Cs"]), max_size=8)),
    lambda inner: st.one_of(st.lists(inner, max_size=3), st.dictionaries(KEYS, inner, max_size=3)),
    max_leaves=12,
)


@given(st.dictionaries(KEYS, VALUES, max_size=4))
def test_the_walk_finds_what_the_parser_finds(data: dict[str, Any]) -> None:
    """For documents written by tomlkit from any data, the places found are those of the parser."""
    text = tomlkit.dumps(data)

    assert set(index_lines(text)) == set(paths(tomllib.loads(text)))


def test_a_place_without_a_line_takes_that_of_the_table_around_it() -> None:
    """A key that is missing is told at its table; at the top there is no line to tell."""
    lines = index_lines("a = 1\n[b]\nc = 2\n")

    assert line_of(lines, ("b", "missing")) == 2
    assert line_of(lines, ("missing",)) is None
