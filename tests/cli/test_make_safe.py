"""Building for a powered instrument: the sketch is written, and papers that lead hands into it wait for the record."""

from __future__ import annotations

import re
from pathlib import Path

from retrofit.cli.output import Exit
from tests.cli.conftest import Command, demo, written


def _unsafe(path: Path) -> Path:
    """Return a copy of the theatre demo console without its make-safe record."""
    text, cuts = re.subn(r"\[make_safe\].*?\n\]\n", "", demo("theatre.toml"), flags=re.DOTALL)
    assert cuts == 1
    return written(path / "unsafe.toml", text)


def test_papers_wait_and_the_sketch_does_not(retrofit: Command, tmp_path: Path) -> None:
    """Without the record the build ends with 1, names what it withholds and why, and has written the sketch."""
    ended = retrofit("build", _unsafe(tmp_path), "--out", tmp_path / "out")
    assert ended.code == Exit.PROBLEMS
    assert "withheld: wiring-schedule.csv" in ended.err
    assert "make-safe-not-done make_safe.chassis_to_earth" in ended.err
    assert "licensed people" in ended.err
    assert not (tmp_path / "out/wiring-schedule.csv").exists()
    assert not list((tmp_path / "out").glob("connections*"))
    assert not list((tmp_path / "out").glob("putback*"))
    assert (tmp_path / "out/message-list.csv").exists()
    assert list((tmp_path / "out").glob("*/*.ino"))


def test_a_record_that_is_lost_takes_an_older_schedule_away(retrofit: Command, theatre: Path, tmp_path: Path) -> None:
    """A schedule that was written while the record stood does not stay when the record is gone."""
    assert retrofit("build", theatre, "--out", tmp_path / "out").code == Exit.OK
    assert (tmp_path / "out/wiring-schedule.csv").exists()
    assert retrofit("build", _unsafe(tmp_path), "--out", tmp_path / "out").code == Exit.PROBLEMS
    assert not (tmp_path / "out/wiring-schedule.csv").exists()


def test_check_tells_of_the_gate(retrofit: Command, tmp_path: Path) -> None:
    """`check` ends with 1 and names the rule and what to sign."""
    ended = retrofit("check", _unsafe(tmp_path))
    assert ended.code == Exit.PROBLEMS
    assert "error: make-safe-not-done" in ended.out
    assert "capacitors-discharged" in ended.out


def test_a_new_job_asks_for_the_record(retrofit: Command, tmp_path: Path) -> None:
    """The text of a new job has the table, with nothing in it taken as done."""
    path = tmp_path / "new.toml"
    assert retrofit("new", path, "--name", "invented", "--manual", "61").code == Exit.OK
    text = path.read_text(encoding="utf-8").replace('owner = "unknown"        #', 'owner = "organ"        #')
    assert "[make_safe]" in text
    path.write_text(text, encoding="utf-8")
    assert "make-safe-not-done" in retrofit("check", path).out
