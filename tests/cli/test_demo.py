"""`retrofit demo`: from nothing to firmware for two consoles, without losing what somebody changed."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from retrofit.survey.load import load_job
from retrofit.survey.points import PointKind, list_points
from tests.cli.conftest import Command

SKETCHES = {
    "gutted_home": "two_manual_home_console_demo_invented",
    "theatre": "three_manual_theatre_console_demo_invented",
}


def everything_in(folder: Path) -> dict[Path, tuple[bytes, int]]:
    """Return content and time of change of every file below a folder."""
    return {path: (path.read_bytes(), path.stat().st_mtime_ns) for path in folder.rglob("*") if path.is_file()}


def test_the_demo_goes_all_the_way(retrofit: Command, tmp_path: Path) -> None:
    """Both jobs are copied, found sound, planned, and built into sketches and papers."""
    folder = tmp_path / "demo"
    ended = retrofit("demo", folder)
    assert ended.code == 0
    assert len(ended.out.splitlines()) == len(SKETCHES)
    for job, sketch in SKETCHES.items():
        assert f"{folder / job}.toml: " in ended.out
        assert (folder / job / sketch / f"{sketch}.ino").is_file()
        assert (folder / job / "wiring-schedule.csv").is_file()
        assert (folder / job / "message-list.csv").is_file()
    assert json.loads((folder / "retrofit-job.schema.json").read_bytes())["$schema"]


def test_a_second_demo_changes_nothing(retrofit: Command, tmp_path: Path) -> None:
    """Run again, the demo leaves every file as it was, down to the time of its last change."""
    retrofit("demo", tmp_path)
    before = everything_in(tmp_path)
    assert retrofit("demo", tmp_path).code == 0
    assert everything_in(tmp_path) == before


def test_an_edited_demo_file_is_not_overwritten(retrofit: Command, tmp_path: Path) -> None:
    """An edited job stops the demo before anything is written; with --force it is replaced and kept as a backup."""
    retrofit("demo", tmp_path)
    job = tmp_path / "theatre.toml"
    job.write_text(job.read_text(encoding="utf-8") + "# mine\n", encoding="utf-8")
    before = everything_in(tmp_path)
    ended = retrofit("demo", tmp_path)
    assert ended.code == 3
    assert f"{job}: found edited" in ended.err
    assert "--force" in ended.err
    assert everything_in(tmp_path) == before
    assert retrofit("demo", tmp_path, "--force").code == 0
    assert not job.read_text(encoding="utf-8").endswith("# mine\n")
    assert (tmp_path / "theatre.toml.1").read_text(encoding="utf-8").endswith("# mine\n")


@pytest.mark.parametrize(
    ("job", "keys", "stops", "pistons", "shoes", "stages"),
    [("gutted", 61 + 61 + 25, 24, 8, 1, 0), ("theatre", 3 * 61 + 61 + 32, 96, 30 + 10, 2 + 1, 24)],
)
def test_the_demo_consoles_have_what_they_claim(
    job: str, keys: int, stops: int, pistons: int, shoes: int, stages: int, request: pytest.FixtureRequest
) -> None:
    """Counts of the invented consoles: the theatre console has second touch on one manual and a roller of 24 stages."""
    points = list_points(load_job(request.getfixturevalue(job)))
    counted = [sum(point.kind is kind for point in points) for kind in PointKind]
    assert dict(zip(PointKind, counted, strict=True)) == {
        PointKind.KEY: keys,
        PointKind.PISTON: pistons,
        PointKind.STOP: stops,
        PointKind.SHOE: shoes,
        PointKind.STAGE: stages,
    }


@pytest.mark.parametrize("job", ["gutted", "theatre"])
def test_the_demo_consoles_are_marked_as_invented(job: str, request: pytest.FixtureRequest) -> None:
    """The file says so of the instrument, in its name, and in every remark."""
    loaded = load_job(request.getfixturevalue(job))
    assert loaded.instrument.invented
    assert "invented" in loaded.instrument.name
    remarks = [remark for point in list_points(loaded) for remark in point.found.notes]
    assert remarks
    assert all(remark.text.startswith("invented: ") for remark in (*remarks, *loaded.instrument.notes))
