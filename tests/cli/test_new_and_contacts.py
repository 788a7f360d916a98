"""`retrofit new` and `retrofit contacts`: a job from nothing, and contact lists in a spreadsheet."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest

from retrofit.plan.rules import ALL_RULES
from retrofit.survey.instrument import MidiOut
from retrofit.survey.load import load_job
from retrofit.survey.points import PointKind, list_points
from tests.cli.conftest import Command, on_a_terminal

OPTIONS = (
    *("--name", 'Quotes " and\nlines', "--manual", "61@36", "--manual", "49@C3", "--pedal", "32", "--stops", "5"),
    *("--pistons", "4", "--studs", "2", "--shoes", "2", "--roller", "20", "--preserve"),
)


@pytest.mark.parametrize("board", ["atmega32u4", "rp2040"])
def test_a_board_with_usb_may_be_asked_for(retrofit: Command, tmp_path: Path, board: str) -> None:
    """The job names the board and its outlet, and the plan only waits for readings."""
    job = tmp_path / "small.toml"
    assert retrofit("new", job, "--name", "small", "--manual", "13", "--board", board, "--midi-out", "usb").code == 0
    wanted = load_job(job).wanted
    assert (wanted.board, wanted.midi_out) == (board, MidiOut.USB)
    errors = [line for line in retrofit("check", job).out.splitlines() if line.startswith("error: ")]
    assert errors == ["error: owner-unknown", "error: polarity-unknown"]


def test_options_make_a_job(retrofit: Command, tmp_path: Path) -> None:
    """A script's options give a job that loads, with the console that was asked for and the schema beside it."""
    job = tmp_path / "deep" / "new.toml"
    ended = retrofit("new", job, *OPTIONS)
    assert ended.code == 0
    loaded = load_job(job)
    assert loaded.instrument.name == 'Quotes " and\nlines'
    assert loaded.originals.preserved
    keys = [point.note for point in list_points(loaded) if point.kind is PointKind.KEY]
    assert keys == [*range(36, 97), *range(48, 97), *range(36, 68)]
    assert (job.parent / "retrofit-job.schema.json").is_file()


def test_a_new_job_is_checked_without_surprise(retrofit: Command, tmp_path: Path) -> None:
    """Nothing is measured yet, so the plan stops, and the first thing it asks is whose the lines are."""
    retrofit("new", tmp_path / "new.toml", *OPTIONS)
    ended = retrofit("check", tmp_path / "new.toml")
    assert ended.code == 1
    assert ended.out.startswith("error: owner-unknown")


def test_an_existing_file_is_never_overwritten(retrofit: Command, gutted: Path) -> None:
    """A name that is taken stays as it is."""
    before = gutted.read_bytes()
    assert retrofit("new", gutted, *OPTIONS).code == 3
    assert gutted.read_bytes() == before


def test_impossible_answers_are_all_said(retrofit: Command, tmp_path: Path) -> None:
    """Several wrong answers give several lines and no file."""
    ended = retrofit("new", tmp_path / "new.toml", "--name", "x", "--stops", "-3", "--shoes", "99", "--take-over")
    assert ended.code == 2
    assert ended.err.splitlines()[:2] == ["--stops: found -3; allowed 0 to 512", "--shoes: found 99; allowed 0 to 8"]
    assert "answer again" not in ended.err
    assert not (tmp_path / "new.toml").exists()


def test_a_terminal_is_asked(tmp_path: Path) -> None:
    """Open answers are asked for one by one; an empty one takes the default, a wrong one is asked again."""
    job = tmp_path / "asked.toml"
    assert on_a_terminal("Chapel\n61, 600\n61, 49@C3\n0\nmany\n12\n\n1\n0\nn\n", "new", job, "--pistons", "3") == 0
    loaded = load_job(job)
    assert (loaded.instrument.name, loaded.originals.preserved) == ("Chapel", False)
    assert [group.id for group in loaded.groups] == ["manual-1", "manual-2", "stops", "pistons", "shoes"]


@pytest.mark.parametrize(
    "answers",
    [
        "\n\0\nChapel\n61\n0\n0\n0\n0\n0\n0\ny\n",
        "Chapel\n61@100\n61 x\n61\n0\n0\n0\n0\n0\n0\nyes\n",
        "Chapel\n61 61 61 61 61 61 61 61 61\n61\n0\n0\n0\n0\n0\n0\nY\n",
        "Chapel\n61\n25@120\n0\n600\n0\n-1\n0\n0\n9\n0\n0\nYES\n",
        "Chapel\n61\n0\n0\n0\n0\n0\n1\n65\n1.5\n0\nperhaps\n1\ny\n",
    ],
    ids=["name", "compass", "manuals", "counts", "roller and yes"],
)
def test_a_wrong_answer_is_asked_again_where_it_was_given(answers: str, tmp_path: Path) -> None:
    """Each answer is looked at on its own; nothing that was answered before is asked again, and the job is written."""
    job = tmp_path / "asked.toml"
    assert on_a_terminal(answers, "new", job) == 0
    loaded = load_job(job)
    assert (loaded.instrument.name, loaded.originals.preserved) == ("Chapel", True)
    assert [group.id for group in loaded.groups] == ["manual-1"]


def test_wrong_options_are_told_before_anything_is_asked(tmp_path: Path) -> None:
    """On a terminal too, an option that cannot be ends the command at once."""
    assert on_a_terminal("", "new", tmp_path / "new.toml", "--roller", "1") == 2


def list_of(retrofit: Command, job: Path, sheet: Path, group: str, without: str) -> Path:
    """Write the contact list of a group without the rows that begin with some words."""
    text = retrofit("contacts", "export", job, group).out
    kept = [line for line in text.splitlines(keepends=True) if not line.startswith(without)]
    sheet.write_text("".join(kept), encoding="utf-8")
    return sheet


def test_points_that_the_list_lacks_are_named_and_stay(retrofit: Command, gutted: Path, tmp_path: Path) -> None:
    """Where nobody can agree nothing is written; the option agrees, and then the point is gone."""
    sheet = list_of(retrofit, gutted, tmp_path / "tabs.csv", "tabs", "bourdon-16,")
    before = gutted.read_bytes()
    ended = retrofit("contacts", "import", gutted, "tabs", sheet)
    assert ended.code == 1
    assert "  tabs.bourdon-16" in ended.err.splitlines()
    assert "--accept-removals" in ended.err
    assert gutted.read_bytes() == before
    assert retrofit("contacts", "import", gutted, "tabs", sheet, "--accept-removals").code == 0
    assert "tabs.bourdon-16" not in {point.id for point in list_points(load_job(gutted))}


def test_notes_that_a_changed_id_would_lose_are_named(retrofit: Command, gutted: Path, tmp_path: Path) -> None:
    """A point that comes back under another note is a new one: the dated notes of the old one would go."""
    sheet = list_of(retrofit, gutted, tmp_path / "upper.csv", "upper", "none")
    text = sheet.read_text(encoding="utf-8")
    sheet.write_text("".join(line for line in text.splitlines(keepends=True) if not line.startswith("61,")), "utf-8")
    ended = retrofit("contacts", "import", gutted, "upper", sheet)
    assert ended.code == 1
    assert "upper.61.key, and with it 1 dated note" in ended.err


@pytest.mark.parametrize(("answer", "code"), [("yes", 0), ("y", 0), ("maybe\nno", 1), ("", 1)])
def test_on_a_terminal_removals_are_asked_for(
    answer: str, code: int, retrofit: Command, gutted: Path, tmp_path: Path
) -> None:
    """Only a yes takes points out; what is neither yes nor no is asked again."""
    sheet = list_of(retrofit, gutted, tmp_path / "tabs.csv", "tabs", "bourdon-16,")
    before = gutted.read_bytes()
    assert on_a_terminal(f"{answer}\n", "contacts", "import", gutted, "tabs", sheet) == code
    assert (gutted.read_bytes() == before) is (code == 1)


def test_contacts_go_out_and_come_back(retrofit: Command, gutted: Path, tmp_path: Path) -> None:
    """An exported list read back changes no byte; one edited cell changes one line."""
    sheet = tmp_path / "tabs.csv"
    before = gutted.read_text(encoding="utf-8")
    assert retrofit("contacts", "export", gutted, "tabs", "--out", sheet, "--separator", "semicolon").code == 0
    assert retrofit("contacts", "import", gutted, "tabs", sheet).code == 0
    assert gutted.read_text(encoding="utf-8") == before
    sheet.write_text(sheet.read_text(encoding="utf-8").replace("Bourdon", "Bourdon doux"), encoding="utf-8")
    assert retrofit("contacts", "import", gutted, "tabs", sheet).code == 0
    changed = set(gutted.read_text(encoding="utf-8").splitlines()) - set(before.splitlines())
    assert len(changed) == 1
    assert '"Bourdon doux"' in changed.pop()


def test_the_list_on_stdout_is_csv(retrofit: Command, gutted: Path) -> None:
    """A key group has a row per key, told without any talk."""
    ended = retrofit("contacts", "export", gutted, "pedal")
    rows = list(csv.DictReader(io.StringIO(ended.out)))
    assert [int(row["note"]) for row in rows] == list(range(36, 61))
    assert ended.err == ""


def test_a_wrong_list_is_told_by_row_and_changes_nothing(retrofit: Command, gutted: Path, tmp_path: Path) -> None:
    """A misspelt condition is found by its row, with the nearest word."""
    before = gutted.read_bytes()
    sheet = tmp_path / "tabs.csv"
    sheet.write_text("id,condition\nbourdon-16,sund\n", encoding="utf-8")
    ended = retrofit("contacts", "import", gutted, "tabs", sheet)
    assert ended.code == 1
    assert "row 2, column condition: found 'sund'" in ended.err
    assert "did you mean 'sound'?" in ended.err
    assert gutted.read_bytes() == before


def test_a_roller_has_no_list(retrofit: Command, theatre: Path) -> None:
    """A roller's stages are counted, so there is nothing to export."""
    ended = retrofit("contacts", "export", theatre, "crescendo")
    assert ended.code == 2
    assert "roller" in ended.err


def test_rules_need_no_job(retrofit: Command) -> None:
    """The rules are listed with severity and whether a job may waive them."""
    ended = retrofit("rules", "--explain")
    assert ended.code == 0
    lines = ended.out.splitlines()
    row = next(line for line in lines if line.startswith("usb-without-barrier "))
    assert row.split()[1:3] == ["error", "locked"]
    assert sum(line.startswith("    compares ") for line in lines) == len(ALL_RULES)
