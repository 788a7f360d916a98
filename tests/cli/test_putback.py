"""`retrofit putback`, `retrofit explain`, and rehearsals kept by `retrofit record`."""

from __future__ import annotations

import tomllib
from datetime import date
from pathlib import Path

import pytest

from retrofit.survey.load import load_job
from tests.cli.conftest import Command, process
from tests.cli.test_safe_output import HOSTILE, acts_on_a_terminal, toml_text


def test_the_sheet_is_all_of_stdout_and_repeats(theatre: Path, tmp_path: Path) -> None:
    """stdout is the pages and nothing else, two processes write the same bytes, and --out writes them to a file."""
    first, second = (process("putback", theatre, encoding="utf-8") for _ in range(2))
    assert first.returncode == 0
    assert first.stdout == second.stdout
    assert first.stdout.startswith("PUTBACK SHEET ")
    assert "434 steps; no steps that cannot be undone; no steps left in for other divisions" in first.stderr
    third = process("putback", theatre, "--out", tmp_path / "sheet.txt")
    assert third.stdout == ""
    assert (tmp_path / "sheet.txt").read_text(encoding="utf-8") == first.stdout


def test_one_division_comes_out_alone(retrofit: Command, theatre: Path) -> None:
    """--division takes one division; a misspelt one is answered with the nearest."""
    ended = retrofit("putback", theatre, "--division", "solo")
    assert ended.code == 0
    assert ended.out.startswith("PUTBACK SHEET, division solo only")
    assert "5 steps left in for other divisions" in ended.err
    ended = retrofit("putback", theatre, "--division", "sollo")
    assert (ended.code, ended.out) == (2, "")
    assert "there is no division 'sollo'; did you mean 'solo'?" in ended.err


def test_no_sheet_before_the_console_is_made_safe(retrofit: Command, theatre: Path) -> None:
    """While the make-safe record is not complete nothing is printed, and the reason is said."""
    text = theatre.read_text(encoding="utf-8")
    unsafe = text.replace('supply_kind = "isolated"', 'supply_kind = "unknown"')
    assert unsafe != text
    theatre.write_text(unsafe, encoding="utf-8")
    ended = retrofit("putback", theatre)
    assert (ended.code, ended.out) == (1, "")
    assert "make-safe-not-done make_safe.supply_kind" in ended.err
    assert "licensed people" in ended.err


@pytest.mark.parametrize(("job", "written"), [("theatre", True), ("gutted", False)])
def test_a_build_writes_the_sheet_for_lines_of_the_organ(
    job: str, written: bool, retrofit: Command, request: pytest.FixtureRequest, tmp_path: Path
) -> None:
    """A console that is listened to gets sheet and notes with its build; a gutted one needs none."""
    assert retrofit("build", request.getfixturevalue(job), "--out", tmp_path / "out").code == 0
    names = {path.name for path in (tmp_path / "out").iterdir()}
    papers = {"putback-sheet.csv", "putback-sheet.txt", "change-notes.txt"}
    assert names & papers == (papers if written else set())


def test_a_build_withholds_the_sheet_too(retrofit: Command, theatre: Path, tmp_path: Path) -> None:
    """What leads hands into the instrument waits for the make-safe record."""
    text = theatre.read_text(encoding="utf-8").replace('supply_kind = "isolated"', 'supply_kind = "unknown"')
    theatre.write_text(text, encoding="utf-8")
    ended = retrofit("build", theatre, "--out", tmp_path / "out")
    assert ended.code == 1
    assert "putback-sheet.txt" in ended.err
    assert not list((tmp_path / "out").glob("putback-sheet.*"))


def test_names_cannot_act_on_a_terminal(retrofit: Command, theatre: Path) -> None:
    """The sheet goes to stdout as it is, so that every name in it is made harmless before."""
    text = theatre.read_text(encoding="utf-8")
    hostile = text.replace('name = "Great manual"', f"name = {toml_text(HOSTILE)}").replace(
        'strip = "B", tag = "25"', f'strip = "B", tag = {toml_text(HOSTILE)}'
    )
    assert hostile.count(toml_text(HOSTILE)) == 2
    theatre.write_text(hostile, encoding="utf-8")
    ended = retrofit("putback", theatre)
    assert ended.code == 0
    assert acts_on_a_terminal(ended.out) == []
    assert r"\x1b[2J" in ended.out


def test_a_rehearsal_is_kept_with_comments_and_order(retrofit: Command, theatre: Path) -> None:
    """A step and a division get date and initials; nothing else of the file changes, and no address is recorded."""
    before = theatre.read_text(encoding="utf-8")
    ended = retrofit(
        *("record", theatre, "--rehearsed", "great", "--rehearsed", "tap-line.solo.96"),
        *("--initials", "QT", "--date", "2026-03-09"),
    )
    assert ended.code == 0
    assert ended.out.splitlines() == [
        f"{theatre}: great rehearsed on 2026-03-09 by QT",
        f"{theatre}: tap-line.solo.96 rehearsed on 2026-03-09 by QT",
    ]
    after = theatre.read_text(encoding="utf-8")
    assert after.startswith(before.rstrip("\n"))
    kept = {"date": date(2026, 3, 9), "initials": "QT"}
    assert tomllib.loads(after)["rehearsals"] == {"great": kept, "tap-line.solo.96": kept}
    assert "addresses" not in tomllib.loads(after)
    assert "2026-03-09 QT" in retrofit("putback", theatre, "--division", "great").out


def test_a_later_rehearsal_takes_the_place_of_an_earlier_one(retrofit: Command, theatre: Path) -> None:
    """Each step has one rehearsal, the last that was recorded; a record of progress can go with it."""
    for day, initials in (("2026-03-09", "QT"), ("2026-04-01", "RB")):
        options = ("--rehearsed", "great", "--initials", initials, "--date", day)
        assert retrofit("record", theatre, *options, "--wired", "great").code == 0
    job = load_job(theatre)
    assert {name: str(kept.date) for name, kept in job.rehearsals.items()} == {"great": "2026-04-01"}
    assert next(division.progress for division in job.divisions if division.id == "great") == "wired"
    assert job.addresses


def test_without_a_date_a_rehearsal_was_today(retrofit: Command, theatre: Path) -> None:
    """The calendar of the machine dates it."""
    before = date.today()
    assert retrofit("record", theatre, "--rehearsed", "great", "--initials", "QT").code == 0
    assert before <= load_job(theatre).rehearsals["great"].date <= date.today()


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--rehearsed", "tap-line.graet.36", "--initials", "QT"], "did you mean 'tap-line.great.36'?"),
        (["--rehearsed", "zzzz", "--initials", "QT"], "the column 'operation' of putback-sheet.csv has all of them"),
        (["--rehearsed", "great"], "say who did it: --initials XX"),
        (["--rehearsed", "great", "--initials", "far too many"], "1 to 8 letters"),
        (["--rehearsed", "great", "--initials", "  "], "1 to 8 letters"),
        (["--rehearsed", "great", "--initials", "QT", "--date", "9 March"], "'9 March'"),
        (["--initials", "QT"], "--rehearsed says what"),
        (["--date", "2026-03-09"], "--rehearsed says what"),
    ],
)
def test_what_cannot_be_kept_is_refused(options: list[str], words: str, retrofit: Command, theatre: Path) -> None:
    """Unknown steps name the nearest, missing halves are asked for, and the file stays as it was."""
    before = theatre.read_bytes()
    ended = retrofit("record", theatre, *options)
    assert ended.code == 2
    assert words in ended.err
    assert theatre.read_bytes() == before


def test_a_step_that_cannot_be_undone_cannot_be_rehearsed(retrofit: Command, gutted: Path) -> None:
    """A cut is in the ledger and not in the putback."""
    cut = '\n[[operations]]\nid = "feed-cut"\nkind = "cut-wire"\ntext = "cut it"\ndate = 2026-03-07\ninitials = "QT"\n'
    gutted.write_text(gutted.read_text(encoding="utf-8") + cut, encoding="utf-8")
    assert retrofit("record", gutted, "--rehearsed", "feed-cut", "--initials", "QT").code == 2


def test_a_finding_is_explained_without_a_job(retrofit: Command) -> None:
    """What is compared, why, how much it matters, what to do, and the lines of a waiver."""
    out = retrofit("explain", "late-note-off").out
    assert out.startswith("late-note-off: The tap lies after a decay capacitor\n")
    assert [line.split()[0] for line in out.splitlines()[1:6]] == ["compares", "why", "remedy", "severity", "waiver"]
    assert '[[waivers]]\n          rule = "late-note-off"' in out


def test_a_locked_rule_is_explained_as_locked(retrofit: Command) -> None:
    """No lines of a waiver are shown for what cannot be waived."""
    out = retrofit("explain", "step-cannot-be-undone").out
    assert "no waiver reaches it" in out
    assert "[[waivers]]" not in out


def test_an_unknown_finding_names_the_nearest(retrofit: Command) -> None:
    """A misspelt id costs one more try."""
    ended = retrofit("explain", "late-note-of")
    assert (ended.code, ended.out) == (2, "")
    assert "there is no finding 'late-note-of'; did you mean 'late-note-off'?" in ended.err
