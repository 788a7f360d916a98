"""Which papers a build writes, and what it and `new` say about the next step."""

from __future__ import annotations

from pathlib import Path

from retrofit.cli.output import Exit
from tests.cli.conftest import Command


def test_the_connections_come_with_the_wiring_schedule(retrofit: Command, gutted: Path, tmp_path: Path) -> None:
    """Both forms are written, of the same plan as the sketch."""
    ended = retrofit("build", gutted, "--out", tmp_path / "out")
    assert ended.code == Exit.OK
    digest = ended.out.split()[1]
    text = (tmp_path / "out/connections.txt").read_text(encoding="utf-8")
    sheet = (tmp_path / "out/connections.csv").read_text(encoding="utf-8-sig")
    assert f"plan {digest}" in text
    assert f"# digest,{digest}" in sheet
    assert (tmp_path / "out/wiring-schedule.csv").exists()


def test_a_take_over_says_why_it_has_no_putback_sheet(retrofit: Command, gutted: Path, tmp_path: Path) -> None:
    """Nothing original is tapped or kept, so there is nothing to put back; the talk says so."""
    ended = retrofit("build", gutted, "--out", tmp_path / "out")
    assert "no putback sheet is written: the job taps no original line" in ended.err
    assert "no putback sheet" not in ended.out
    assert not list((tmp_path / "out").glob("putback*"))


def test_a_job_that_taps_has_its_putback_sheet_and_no_excuse(retrofit: Command, theatre: Path, tmp_path: Path) -> None:
    """Where lines of the organ's are tapped the sheet is written, and nothing is said of its absence."""
    ended = retrofit("build", theatre, "--out", tmp_path / "out")
    assert "no putback sheet" not in ended.err
    assert (tmp_path / "out/putback-sheet.txt").exists()


def test_after_new_the_next_step_is_said(retrofit: Command, tmp_path: Path) -> None:
    """The talk names the owner of every group, then the check of this very file."""
    job = tmp_path / "new.toml"
    ended = retrofit("new", job, "--name", "invented", "--manual", "61")
    assert ended.code == Exit.OK
    owner, check = ended.err.splitlines()[-2:]
    assert "next: say for every group whose voltage is on its lines" in owner
    assert check == f"then: retrofit check {job}"
