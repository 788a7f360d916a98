"""`retrofit compare`: what it shows, in how many columns, and what other programs read."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from retrofit.cli.output import Exit
from tests.cli.conftest import Command, written
from tests.plan.jobs import GREAT, HEAD, OURS, keys, stops


@pytest.mark.parametrize("demo", ["gutted", "theatre"])
@pytest.mark.parametrize("options", [(), ("--boards", "2"), ("--connectors",)], ids=" ".join)
def test_it_fits_eighty_columns(
    demo: str,
    options: tuple[str, ...],
    retrofit: Command,
    request: pytest.FixtureRequest,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Both demos are readable in 80 columns, end with 0, and have no colour."""
    monkeypatch.setenv("COLUMNS", "80")
    ended = retrofit("compare", request.getfixturevalue(demo), *options)
    assert ended.code == Exit.OK
    assert max(map(len, ended.out.splitlines())) <= 80
    assert "recommended: " in ended.out
    assert "\x1b" not in ended.out


def test_a_group_is_told_in_full(retrofit: Command, gutted: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """One group by name: levels with limits and corners, waits, the cable, what is spare, and no other group."""
    monkeypatch.setenv("COLUMNS", "80")
    ended = retrofit("compare", gutted, "--group", "upper")
    words = " ".join(ended.out.split())
    for said in ("low level:", "slack of the clock:", "3 spare", "each with a wait of", "ns, out and back", "of RAM"):
        assert said in words
    assert "pedal: " not in ended.out
    assert max(map(len, ended.out.splitlines())) <= 80


def test_an_unknown_group_is_answered_with_the_nearest(retrofit: Command, gutted: Path) -> None:
    """A misspelt group ends with 2 and the right spelling."""
    ended = retrofit("compare", gutted, "--group", "uper")
    assert (ended.code, "did you mean 'upper'?" in ended.err) == (Exit.USAGE, True)


def test_json_has_the_promised_keys(retrofit: Command, theatre: Path) -> None:
    """Other programs rely on these keys; the same job gives the same bytes."""
    first = retrofit("compare", theatre, "--json").out
    content = json.loads(first)
    assert content.keys() >= {"board", "groups", "whole", "recommended", "reason", "markers"}
    candidate = content["groups"][0]["candidates"][0]
    assert candidate.keys() >= {"kind", "verdict", "wish", "counts", "scan_us", "judged", "refusals", "assumptions"}
    assert candidate["counts"].keys() >= {"devices", "lines", "joints", "diodes", "pins", "spare", "watched", "cost"}
    assert first == retrofit("compare", theatre, "--json").out


def test_a_board_that_nobody_knows(retrofit: Command, tmp_path: Path) -> None:
    """Without a board there is nothing to compare: the file, the key and what is known are named."""
    job = written(tmp_path / "job.toml", HEAD + '[wanted]\nboard = "abacus"\n' + GREAT + keys() + OURS)
    ended = retrofit("compare", job)
    assert ended.code == Exit.PROBLEMS
    assert f"{job}: wanted.board: the board 'abacus' is not known; there is atmega2560" in ended.err
    assert ended.out == ""


def test_names_are_shown_safely(retrofit: Command, tmp_path: Path) -> None:
    """A tab whose name would clear the screen is escaped on its connector."""
    job = written(tmp_path / "job.toml", HEAD + GREAT + stops('{ id = "a", name = "\\u001b[2J" }') + OURS)
    ended = retrofit("compare", job, "--connectors")
    assert "\x1b" not in ended.out
    assert "input A" in ended.out


def test_connectors_are_drawn_from_both_sides(retrofit: Command, gutted: Path) -> None:
    """Pin 1 is marked, and stands at the left on the mating side and at the right on the solder side."""
    lines = [line.split() for line in retrofit("compare", gutted, "--connectors").out.splitlines()]
    assert ["[1]", "3", "5", "7", "9", "9", "7", "5", "3", "[1]"] in lines
    assert ["2", "4", "6", "8", "10", "10", "8", "6", "4", "2"] in lines
