"""`retrofit record` and `retrofit build`: what is wired stays, and what would move is asked for."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import pytest

from tests.cli.conftest import Command, on_a_terminal


def addresses(retrofit: Command, job: Path) -> dict[str, str]:
    """Return the planned address of every point."""
    return {point["id"]: point["address"] for point in json.loads(retrofit("plan", job, "--json").out)["points"]}


def grow(job: Path) -> None:
    """Give the Upper an octave more than it had, which pushes everything after it outward."""
    text = job.read_text(encoding="utf-8")
    wider = text.replace('compass = { lowest = "C2", count = 61 }', 'compass = { lowest = "C2", count = 73 }', 1)
    assert wider != text
    job.write_text(wider, encoding="utf-8")


def test_recording_keeps_comments_and_a_backup(retrofit: Command, gutted: Path) -> None:
    """Addresses and progress go into the file; everything else of it stays, and so does the file as it was."""
    before = gutted.read_text(encoding="utf-8")
    ended = retrofit("record", gutted, "--wired", "upper", "--proven", "pedal")
    assert ended.code == 0
    after = gutted.read_text(encoding="utf-8")
    divisions = {division["id"]: division.get("progress") for division in tomllib.loads(after)["divisions"]}
    assert divisions == {"upper": "wired", "lower": None, "pedal": "proven", "controls": None}
    assert set(before.splitlines()) <= set(after.splitlines())
    assert tomllib.loads(after)["addresses"] == addresses(retrofit, gutted)


def test_recording_is_one_save_with_one_backup(retrofit: Command, gutted: Path) -> None:
    """Addresses, messages and the progress of several divisions go in together: one backup, the file as it was."""
    before = gutted.read_bytes()
    assert retrofit("record", gutted, "--wired", "upper", "--proven", "pedal").code == 0
    backups = sorted(gutted.parent.glob(f"{gutted.name}.*"))
    assert [backup.name for backup in backups] == [f"{gutted.name}.1"]
    assert backups[0].read_bytes() == before


def test_wired_points_never_move(retrofit: Command, gutted: Path) -> None:
    """With the pedal wired, keys added to the Upper leave every pedal where it was."""
    retrofit("record", gutted, "--wired", "pedal", "--wired", "controls")
    before = addresses(retrofit, gutted)
    grow(gutted)
    after = addresses(retrofit, gutted)
    kept = [point for point in before if point.startswith(("pedal.", "tabs.", "pistons."))]
    assert len(kept) == 25 + 24 + 8
    assert [after[point] for point in kept] == [before[point] for point in kept]


@pytest.mark.parametrize("command", ["build", "record"])
def test_moves_are_listed_and_wait_for_consent(command: str, retrofit: Command, gutted: Path, tmp_path: Path) -> None:
    """Where recorded points would move and nobody can be asked, they are listed and nothing is written."""
    retrofit("record", gutted)
    grow(gutted)
    before = gutted.read_bytes()
    options = ["--out", tmp_path / "out"] if command == "build" else []
    ended = retrofit(command, gutted, *options)
    assert ended.code == 1
    assert "pedal.36: chain register 8 bit 0 -> chain register 10 bit 0" in ended.err
    assert "nothing written; --accept-moves agrees" in ended.err
    assert gutted.read_bytes() == before
    assert not (tmp_path / "out").exists()
    assert retrofit(command, gutted, *options, "--accept-moves").code == 0


@pytest.mark.parametrize(("answer", "code"), [("y", 0), ("n", 1), ("", 1)])
def test_on_a_terminal_moves_are_asked_for(answer: str, code: int, retrofit: Command, gutted: Path) -> None:
    """Only a yes moves recorded points; an empty answer is a no."""
    retrofit("record", gutted)
    grow(gutted)
    before = gutted.read_bytes()
    assert on_a_terminal(f"{answer}\n", "record", gutted) == code
    assert (gutted.read_bytes() == before) is (code == 1)


def test_recorded_moves_are_settled(retrofit: Command, gutted: Path) -> None:
    """Once the moves are recorded, nothing would move any more."""
    retrofit("record", gutted)
    grow(gutted)
    retrofit("record", gutted, "--accept-moves")
    assert retrofit("record", gutted).code == 0


def test_errors_stop_build_and_record(retrofit: Command, faulty: Path, tmp_path: Path) -> None:
    """A plan with errors writes nothing, and says which."""
    before = faulty.read_bytes()
    for ended in (retrofit("build", faulty, "--out", tmp_path / "out"), retrofit("record", faulty)):
        assert ended.code == 1
        assert "owner-unknown groups.upper.wiring.owner" in ended.err
    assert not (tmp_path / "out").exists()
    assert faulty.read_bytes() == before


def test_a_build_says_each_file_once(retrofit: Command, gutted: Path, tmp_path: Path) -> None:
    """One line of talk per file; a second build leaves all unchanged."""
    first = retrofit("build", gutted, "--out", tmp_path / "out")
    files = [path for path in (tmp_path / "out").rglob("*") if path.is_file() and path.name != "written-files.txt"]
    assert sorted(_about_files(first.err)) == sorted(f"written   {path}" for path in files)
    second = retrofit("build", gutted, "--out", tmp_path / "out")
    assert {line.split()[0] for line in _about_files(second.err)} == {"unchanged"}


def _about_files(talk: str) -> list[str]:
    """Return the lines of a build's talk but the one that says why there is no putback sheet."""
    return [line for line in talk.splitlines() if not line.startswith("no putback sheet is written")]


def test_an_edited_sketch_is_not_overwritten(retrofit: Command, gutted: Path, tmp_path: Path) -> None:
    """A file of the build that somebody changed stops the next build."""
    retrofit("build", gutted, "--out", tmp_path / "out")
    schedule = tmp_path / "out" / "wiring-schedule.csv"
    schedule.write_text("ticked off\n", encoding="utf-8")
    ended = retrofit("build", gutted, "--out", tmp_path / "out")
    assert ended.code == 3
    assert "'wiring-schedule.csv' edited since the last build" in ended.err
    assert schedule.read_text(encoding="utf-8") == "ticked off\n"
