"""The sketch folder as a whole."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from pathlib import Path

import pytest

import firmware_templates
from retrofit.firmware.about import ABOUT_FILE_NAME
from retrofit.firmware.output_folder import LIST_NAME
from retrofit.firmware.sketch import SketchError, listed_files, sketch_files, write_sketch
from retrofit.midi.messages import PointMessage
from retrofit.plan.model import Finding, Severity
from tests.writer.plans import bench_job, bench_plan

TEMPLATES = Path(firmware_templates.__file__).parent
FINDING = Finding("back-feed-when-off", Severity.ERROR, "great", "found", "allowed", "remedy")


def test_a_sketch_has_the_main_file_of_its_folder(tmp_path: Path) -> None:
    """The folder lies inside the one given, and its main file has its name (Arduino sketch specification)."""
    result = write_sketch(bench_plan(), tmp_path)
    assert result.folder == tmp_path / "bench_console"
    assert (result.folder / "bench_console.ino").read_bytes() == (TEMPLATES / "avr/sketch.ino").read_bytes()


def test_a_sketch_holds_every_hand_written_file(tmp_path: Path) -> None:
    """All files of the board's list lie flat in the folder, unchanged, with the table and the page beside them."""
    folder = write_sketch(bench_plan(), tmp_path).folder
    paths = listed_files("atmega2560")
    names = {Path(path).name for path in paths}
    assert len(names) == len(paths)
    assert all((folder / Path(path).name).read_bytes() == (TEMPLATES / path).read_bytes() for path in paths)
    projects = {"sketch.yaml", "platformio.ini"}
    others = {"bench_console.ino", "console_table.h", ABOUT_FILE_NAME, LIST_NAME, *projects}
    assert {path.name for path in folder.iterdir()} == names | others


def test_every_hand_written_file_is_on_a_list() -> None:
    """No source is forgotten: each belongs to a board's sketch, and those of the core to every board's."""
    boards = tomllib.loads((TEMPLATES / "files.toml").read_text())["boards"]
    listed = [set(listed_files(board)) for board in boards]
    sources = {f"{path.parent.name}/{path.name}" for end in ("c", "h", "cpp") for path in TEMPLATES.glob(f"*/*.{end}")}
    assert set.union(*listed) == sources
    assert all(source in files for source in sources if source.startswith("core/") for files in listed)


def test_the_same_plan_changes_nothing(tmp_path: Path) -> None:
    """A second build writes no file; a changed name writes the table alone."""
    first = write_sketch(bench_plan(), tmp_path)
    assert write_sketch(bench_plan(), tmp_path).written == ()
    plan = bench_plan()
    points = tuple(replace(p, point=replace(p.point, name=f"{p.point.name}.")) for p in plan.points)
    third = write_sketch(replace(plan, points=points), tmp_path)
    assert third.written == ("console_table.h",)
    assert set(third.unchanged) == set(first.written) - {"console_table.h"}


def test_the_page_says_which_plan_it_is_of() -> None:
    """The page names job, digest and board, how to load the sketch, and what to be careful about."""
    about = sketch_files(bench_plan(bench_job({"instrument": {"name": "Vox\u202e\n"}})), "vox")[
        ABOUT_FILE_NAME
    ].decode()
    for words in (
        r"Vox\u202e\u000a",
        "0123456789abcdef",
        "atmega2560",
        "open vox.ino",
        "Unplug the console",
        "-DDECIMAL_DIG=9",
    ):
        assert words in about
    assert max(map(len, about.splitlines())) <= 96


def test_a_plan_with_errors_is_not_built(tmp_path: Path) -> None:
    """An error stops the build with the finding's words and nothing is written; a waived one does not."""
    with pytest.raises(SketchError, match=r"great: found; allowed; remedy \[back-feed-when-off\]"):
        write_sketch(bench_plan(findings=(FINDING,)), tmp_path)
    assert list(tmp_path.iterdir()) == []
    write_sketch(bench_plan(findings=(replace(FINDING, waived="a reason"),)), tmp_path)


def test_a_plan_that_does_not_fit_the_table_is_not_built(tmp_path: Path) -> None:
    """What the table refuses is one typed error for the caller, and nothing is written."""
    plan = bench_plan()
    points = tuple(replace(p, message=PointMessage(b"\xf8", b"")) for p in plan.points)
    with pytest.raises(SketchError, match=r"great\.36: the message is f8"):
        write_sketch(replace(plan, points=points), tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_an_unknown_board_is_named_with_the_known_ones() -> None:
    """A plan for a board that the catalogue does not have says which ones there are."""
    with pytest.raises(SketchError, match=r"no-board is not in the catalogue; allowed are .*atmega2560"):
        sketch_files(bench_plan(board="no-board"), "x")


def test_a_board_without_firmware_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    """A board of the catalogue for which there are no hand-written files is refused with those that have some."""
    monkeypatch.setattr("retrofit.firmware.sketch._file_list", lambda: {"boards": {"another": {}}})
    with pytest.raises(SketchError, match="no firmware for the board atmega2560; there is for another"):
        sketch_files(bench_plan(), "x")


def test_foreign_files_stop_the_build(tmp_path: Path) -> None:
    """A folder of that name with somebody's files in it is left as it is."""
    (tmp_path / "bench_console").mkdir()
    (tmp_path / "bench_console" / "mine.ino").write_text("mine")
    with pytest.raises(SketchError, match=r"'mine\.ino' found, which no earlier build wrote"):
        write_sketch(bench_plan(), tmp_path)
    assert [path.name for path in (tmp_path / "bench_console").iterdir()] == ["mine.ino"]
