"""`retrofit plan` and `retrofit check`: what they say, and where."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from retrofit.cli.describe import debounce_words
from retrofit.cli.places import Places
from retrofit.survey.wishes import DebounceFamily
from retrofit.timing.debounce import Debounce
from tests.cli.conftest import Command, demo, process, written

GROUP_KEYS = {"id", "period_us", "busy_us", "debounce", "press_latency_us_max", "release_latency_us_max"}


@pytest.fixture
def plan(retrofit: Command, theatre: Path) -> dict[str, list[dict[str, object]]]:
    """Return the theatre console's plan as another program would read it."""
    content: dict[str, list[dict[str, object]]] = json.loads(retrofit("plan", theatre, "--json").out)
    return content


def test_json_has_the_promised_keys(plan: dict[str, list[dict[str, object]]]) -> None:
    """Other programs rely on these keys; more may be added."""
    assert isinstance(plan["digest"], str)
    assert all(point.keys() >= {"id", "group", "address", "on", "off"} for point in plan["points"])
    shoes = [point for point in plan["points"] if point["id"] in {"shoes.main", "shoes.solo", "crescendo"}]
    assert [point.keys() >= {"controller", "channel", "bits"} for point in shoes] == [True, True, True]
    assert all(group.keys() >= GROUP_KEYS for group in plan["groups"])
    assert plan["findings"]
    assert all(finding.keys() >= {"rule", "severity", "subject", "message"} for finding in plan["findings"])


def test_json_says_the_bytes_that_are_sent(plan: dict[str, list[dict[str, object]]]) -> None:
    """Bytes are those of MIDI 1.0 note-on messages (Table I), channels counted from 0 on the wire.

    The Great is on channel 2 and its lowest key is note 36; velocity 100 is 64 hexadecimal, and 0 ends the note.
    """
    points = {str(point["id"]): point for point in plan["points"]}
    assert (points["great.36"]["on"], points["great.36"]["off"]) == ("912464", "912400")
    assert (points["accompaniment.60.second"]["on"], points["accompaniment.60.second"]["off"]) == ("943c64", "943c00")
    assert points["other-tabs.spare"]["on"] == ""
    assert points["studs.s1"]["on"] == ""
    assert points["studs.s1"]["address"] == points["pistons.general-1"]["address"]
    shoe = points["shoes.main"]
    assert (shoe["controller"], shoe["channel"], shoe["bits"]) == (11, 8, 7)


def test_json_is_all_of_stdout_and_repeats(theatre: Path) -> None:
    """stdout is the JSON and nothing else, and two processes write the same bytes."""
    first, second = (process("plan", theatre, "--json") for _ in range(2))
    json.loads(first.stdout)
    assert first.stdout == second.stdout
    assert "see: retrofit check" in first.stderr


@pytest.mark.parametrize("columns", [60, 80, 100, 160])
def test_the_summary_fits_the_terminal(
    columns: int, retrofit: Command, theatre: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """From 80 columns up no line is cut, and every group is there with its messages."""
    monkeypatch.setenv("COLUMNS", str(columns))
    out = retrofit("plan", theatre).out
    assert "great               note 36-96 on channel 2" in out
    assert max(map(len, out.splitlines())) <= max(columns, 80)


def test_every_point_can_be_listed(retrofit: Command, gutted: Path) -> None:
    """--points adds a line per point with address, message and name."""
    lines = [" ".join(line.split()) for line in retrofit("plan", gutted, "--points").out.splitlines()]
    assert "upper.36 chain register 0 bit 0 note 36, channel 1" in lines
    assert "lower.36 matrix 1 row 0 column 0 note 36, channel 2" in lines
    assert "shoe.swell converter 0 controller 11, channel 4, 7 bits Swell" in lines


def test_a_board_that_there_is_not_is_a_finding_and_not_a_crash(retrofit: Command, tmp_path: Path) -> None:
    """A plan without a board still shows what can be known, and check stops."""
    job = written(tmp_path / "job.toml", demo("gutted_home.toml").replace('board = "atmega2560"', 'board = "abacus"'))
    shown = retrofit("plan", job)
    assert shown.code == 0
    assert "no tick: see the findings" in shown.out
    checked = retrofit("check", job)
    assert checked.code == 1
    assert "error: board-unknown" in checked.out


def test_check_says_all_problems_with_their_lines(retrofit: Command, misspelt: Path) -> None:
    """Two mistakes give two lines of data, each with file, line and what is allowed."""
    ended = retrofit("check", misspelt)
    lines = misspelt.read_text(encoding="utf-8").splitlines()
    owner = next(number for number, line in enumerate(lines, 1) if '"uss"' in line)
    assert len(ended.out.splitlines()) == 2
    assert f"{misspelt}:{owner} groups.upper.wiring.owner: found 'uss'" in ended.out
    assert "did you mean 'cable_length'?" in ended.out
    assert "2 problems" in ended.err


def test_check_says_where_a_finding_stands(retrofit: Command, gutted: Path) -> None:
    """A finding on a point is placed on the line on which the point is written."""
    lines = gutted.read_text(encoding="utf-8").splitlines()
    dead = next(number for number, line in enumerate(lines, 1) if 'condition = "dead"' in line)
    assert f"{gutted}:{dead} upper.61: the contact is dead" in retrofit("check", gutted).out


def test_findings_of_one_kind_share_their_remedy(retrofit: Command, gutted: Path) -> None:
    """Three unmeasured bounces are three subjects under one heading."""
    out = retrofit("check", gutted).out
    assert out.count("note: bounce-not-measured\n") == 1
    assert out.count(".wiring.bounce: ") == 3
    assert out.count("remedy: measure it, or name the kind of contact") == 1


def test_points_of_a_group_with_the_same_finding_share_a_line(retrofit: Command, gutted: Path) -> None:
    """Where the same was found of more than three points, one is named with the count; --all names each."""
    dead = [f'    {{ note = {note}, condition = "ciphering" }},' for note in range(40, 46)]
    text = gutted.read_text(encoding="utf-8").replace("points = [\n", "points = [\n" + "\n".join(dead) + "\n", 1)
    gutted.write_text(text, encoding="utf-8")
    folded, every = retrofit("check", gutted).out, retrofit("check", gutted, "--all").out
    assert "upper.40 … and 5 more: the contact is always on" in folded
    assert "upper.41" not in folded
    assert [f"upper.{note}: the contact is always on" in every for note in range(40, 46)] == [True] * 6
    assert "upper.61: the contact is dead" in folded


def test_what_nobody_has_read_is_named_once(retrofit: Command, theatre: Path) -> None:
    """An unknown that several figures of a circuit rest on is told once, also where it stands beside another."""
    told = next(part for part in retrofit("check", theatre).out.split("\n\n") if "sense-figure-unknown" in part)
    solo = " ".join(told.split()).partition("groups.solo.wiring: ")[2].partition("groups.")[0]
    for unknown in ("own load through the contact", "source resistance of the line, idle", "of the line, keyed"):
        assert solo.count(unknown) == 1


def test_a_waived_finding_says_so_with_its_reason(retrofit: Command, gutted: Path) -> None:
    """A waiver does not hide a finding."""
    waiver = '\n[[waivers]]\nrule = "bounce-not-measured"\nreason = "no meter today"\n'
    gutted.write_text(gutted.read_text(encoding="utf-8") + waiver, encoding="utf-8")
    ended = retrofit("check", gutted)
    assert "waived note (no meter today): bounce-not-measured" in ended.out
    assert "3 waived" in ended.err


PLACES = Places(
    """[instrument]
name = "x"
[[divisions]]
id = "d"
[[groups]]
id = "keys"
contacts = [{ id = "first" }, { id = "second" }]
points = [
  { note = "C2" },
  { note = 36, contact = "second" },
]
[groups.wiring]
owner = "us"
[[groups]]
id = "tabs"
points = [{ id = "one" }]
"""
)


@pytest.mark.parametrize(
    ("subject", "line"),
    [
        ("instrument.name", 2),
        ("divisions.d", 3),
        ("groups.keys.wiring.owner", 13),
        ("groups.keys.wiring.bounce", 12),
        ("keys.36", 9),
        ("keys.36.second", 10),
        ("keys.37", 5),
        ("tabs.one", 16),
        ("tabs.two", 14),
        ("nowhere", None),
    ],
)
def test_a_subject_is_found_in_the_file(subject: str, line: int | None) -> None:
    """A key or point has its own line, else that of the table around it, else none rather than a wrong one."""
    assert PLACES.line(subject) == line


def test_a_text_that_cannot_be_walked_has_no_lines(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where lines cannot be found, findings are said without them."""

    def lost(_text: str) -> None:
        raise ValueError("line 1 was not expected")

    monkeypatch.setattr("retrofit.cli.places.index_lines", lost)
    assert Places('groups = [{ id = "keys" }]').line("groups.keys") is None


def test_debounce_in_words() -> None:
    """Each family is said with its counts and their times."""
    assert debounce_words(None, 500) == "none"
    first = Debounce(DebounceFamily.FIRST_EDGE, hold=6)
    assert debounce_words(first, 500) == "first-edge, hold 6 samples (3 ms)"
    agreeing = Debounce(DebounceFamily.CONSECUTIVE, press=8, release=8)
    assert debounce_words(agreeing, 2000) == "consecutive, 8 samples (16 ms)"
    uneven = Debounce(DebounceFamily.ASYMMETRIC, press=2, release=9)
    assert debounce_words(uneven, 250) == "asymmetric, press 2 samples (0.5 ms), release 9 samples (2.25 ms)"
