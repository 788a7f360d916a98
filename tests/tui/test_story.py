"""From an empty screen to a rehearsal, as somebody would go who has never seen the program."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import TextArea

from retrofit.survey.load import load_job
from tests.tui.driving import drive, until
from tui.app import RetrofitApp
from tui.rooms.room import Room
from tui.widgets.cell_grid import CellGrid
from tui.widgets.frame import ROOMS, Notice
from tui.widgets.page import Page


def notice(app: RetrofitApp) -> str:
    """Return the notice of the room that is open."""
    room = next(screen for screen in app.screen_stack if isinstance(screen, Room))
    return str(room.query_one(Notice).render())


async def settled(pilot: Pilot[None], app: RetrofitApp) -> None:
    """Wait until no dialog lies over the room."""
    await until(pilot, lambda: not app.screen.is_modal)


def test_the_demo_is_opened_built_and_rehearsed_with_a_fault(own_folders: Path) -> None:
    """Keys that stand on the screen lead from nothing to firmware, and to a cut wire that is found by name."""

    async def steps(pilot: Pilot[None], app: RetrofitApp) -> None:
        assert app.current_mode == "start"
        await pilot.press("d")
        await pilot.press("enter")
        await until(pilot, lambda: app.state is not None)
        assert app.current_mode == "found"
        await pilot.press("6", "w")
        await pilot.press("enter")
        await settled(pilot, app)
        await until(pilot, lambda: "files in" in notice(app))
        assert (own_folders / "demo-console/gutted_home/implementation-chart.txt").is_file()
        await pilot.press("7", "r")
        await pilot.press(*["space" if c == " " else "full_stop" if c == "." else c for c in "cut wire upper.60"])
        await pilot.press("enter")
        await settled(pilot, app)
        outcome = app.screen.query_one(Page).lines
        assert any(line.startswith("  cause:") and "upper C4 (60)" in line for line in outcome), outcome

    drive(None, steps)


def test_every_room_shows_both_demo_consoles(gutted: Path, theatre: Path) -> None:
    """Each room is reached by its number, takes keys at once, and shows the job without complaint."""

    async def steps(pilot: Pilot[None], app: RetrofitApp) -> None:
        for number, name in enumerate(ROOMS, 1):
            await pilot.press(str(number))
            await pilot.pause()
            assert app.current_mode == name
            assert app.screen.focused is not None
            assert not app.screen.query_one("#hindrance").display
            assert notice(app) == ""

    for path in (gutted, theatre):
        drive(path, steps)
        drive(path, steps, size=(200, 60))


def test_an_edit_goes_by_keys_into_the_file_and_back(gutted: Path) -> None:
    """A channel is changed, taken back and made again; the file follows each time."""

    def channel() -> int | None:
        return load_job(gutted).divisions[0].channel

    async def steps(pilot: Pilot[None], app: RetrofitApp) -> None:
        first = channel()
        await pilot.press("5", "c", "9", "enter")
        await until(pilot, lambda: channel() == 9)
        await pilot.press("ctrl+z")
        await until(pilot, lambda: channel() == first)
        await pilot.press("ctrl+y")
        await until(pilot, lambda: channel() == 9)
        assert app.state is not None
        assert app.state.on_disk

    drive(gutted, steps)


def test_a_job_with_problems_is_mended_as_text(gutted: Path) -> None:
    """What is typed and not sound is kept beside the job; when it is sound it becomes the job."""
    sound = gutted.read_text(encoding="utf-8")
    gutted.write_text(f"x = 1\n{sound}", encoding="utf-8")

    async def leave(pilot: Pilot[None], app: RetrofitApp) -> None:
        await pilot.press("e", "y", "escape")
        assert app.state is not None
        assert app.state.problems

    async def mend(pilot: Pilot[None], app: RetrofitApp) -> None:
        await pilot.press("e")
        await pilot.press("ctrl+o")
        await pilot.pause(0.3)
        assert app.screen.is_modal, "a text that is not sound stays on the screen"
        await pilot.press("ctrl+home", "delete", "delete", "delete", "delete", "delete", "delete")
        await pilot.press("ctrl+o")
        await until(pilot, lambda: app.state is not None and not app.state.problems)

    drive(gutted, leave)
    assert gutted.with_name(gutted.name + ".typed").is_file()
    drive(gutted, mend)
    assert load_job(gutted).instrument.invented
    assert gutted.with_name(gutted.name + ".1").is_file()


@pytest.mark.parametrize(("key", "name"), [("y", "theirs"), ("n", "Two-manual")])
def test_a_file_changed_by_somebody_else_is_asked_about(gutted: Path, key: str, name: str) -> None:
    """Either text can be taken, the other one stays beside, and the program says that nothing is saved until then."""

    async def steps(pilot: Pilot[None], app: RetrofitApp) -> None:
        text = gutted.read_text(encoding="utf-8")
        gutted.write_text(text.replace('name = "Two-manual', 'name = "theirs, two-manual', 1), encoding="utf-8")
        await pilot.press("5", "c", "9", "enter")
        await until(pilot, lambda: app.state is not None and not app.state.on_disk and app.screen.is_modal)
        await pilot.press(key)
        await until(pilot, lambda: app.state is not None and app.state.on_disk)

    drive(gutted, steps)
    assert load_job(gutted).instrument.name.startswith(name)
    beside = gutted.with_name(gutted.name + (".ours" if key == "y" else ".1"))
    assert load_job(beside).instrument.name.startswith("Two-manual" if key == "y" else "theirs")


def test_a_fault_that_there_is_not_is_refused_in_words_of_the_screen(gutted: Path) -> None:
    """What was typed is named, and the keys that help; nothing of the command line stands there."""

    async def steps(pilot: Pilot[None], app: RetrofitApp) -> None:
        await pilot.press("7", "r", "x", "y", "enter")
        await settled(pilot, app)
        await until(pilot, lambda: "no fault" in notice(app))
        assert "a lists the faults" in notice(app)
        assert "--" not in notice(app)

    drive(gutted, steps)


def test_an_error_that_nobody_expected_is_told(gutted: Path) -> None:
    """A fault of the program in the thread becomes a notice, and the job stays as it was."""
    before = gutted.read_bytes()

    def broken(*_: object) -> None:
        raise ZeroDivisionError("made by a test")

    async def steps(pilot: Pilot[None], app: RetrofitApp) -> None:
        app.edit("anything", broken)
        await until(pilot, lambda: "a fault of this program" in notice(app))

    drive(gutted, steps)
    assert gutted.read_bytes() == before


def test_cells_follow_every_width(theatre: Path) -> None:
    """Far along a group the terminal is made narrower and wider, and the cursor goes on from where it was."""

    async def steps(pilot: Pilot[None], app: RetrofitApp) -> None:
        await pilot.press(*["right"] * 70)
        grid = app.screen.query_one(CellGrid)
        for width, height in ((60, 20), (80, 24), (200, 60), (80, 10), (80, 24)):
            before = grid.cursor
            await pilot.resize_terminal(width, height)
            assert grid.cursor == before
            await pilot.press("right", "down", "up", "left")
            assert grid.cursor[0] == before[0]

    drive(theatre, steps)


def test_undo_in_an_editor_is_the_editor_s(gutted: Path) -> None:
    """While text is edited, Ctrl+Z takes back what was typed there and no edit of the job."""

    async def steps(pilot: Pilot[None], app: RetrofitApp) -> None:
        await pilot.press("5", "c", "9", "enter")
        await until(pilot, lambda: app.state is not None and app.state.undoes != "")
        await pilot.press("2", "e")
        await pilot.press("z", "ctrl+z")
        await pilot.pause()
        area = app.screen.query_one(TextArea)
        assert app.state is not None
        assert area.text == app.state.text
        assert app.state.undoes != ""

    drive(gutted, steps)
