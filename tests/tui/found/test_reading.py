"""The guided reading at the bench, driven by its keys."""

from __future__ import annotations

import shutil
from datetime import date
from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import Input, Static

from retrofit.survey.as_found_check import as_found_digest
from retrofit.survey.load import load_job
from retrofit.survey.readings import LineReading, Load, State
from retrofit.survey.save import edit_job, set_value
from tests.tui.driving import drive, until
from tui.app import RetrofitApp
from tui.dialogs.ask_text import AskTextDialog
from tui.rooms.found.reading import ReadingScreen
from tui.widgets.frame import Notice
from tui.widgets.pane import Pane
from tui.widgets.rows import Rows

ROOT = Path(__file__).parents[3]


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """Return a copy of an invented job whose one group has no readings yet."""
    return Path(shutil.copy(ROOT / "tests/plan/awkward/positive_ground.toml", tmp_path / "job.toml"))


def readings(path: Path) -> tuple[LineReading, ...]:
    """Return what the file now holds for its group."""
    return load_job(path).groups[0].wiring.readings


async def begin(pilot: Pilot[None], app: RetrofitApp, line: str = "great.36") -> ReadingScreen:
    """Open the screen, choose a line and sign."""
    screen = await opened(pilot, app)
    screen.query_one("#lines", Rows).go_to(line)
    await pilot.press("enter")
    await until(pilot, lambda: isinstance(app.screen, AskTextDialog) or screen.query_one("#asking").display)
    if isinstance(app.screen, AskTextDialog):
        field = app.screen.query_one(Input)
        field.value = "QT"
        await pilot.press("enter")
    await until(pilot, lambda: screen.query_one("#asking").display)
    return screen


async def opened(pilot: Pilot[None], app: RetrofitApp) -> ReadingScreen:
    """Open the screen over the room that is open."""
    screen = ReadingScreen("great")
    app.push_screen(screen)
    await until(pilot, lambda: any(rows.keys for rows in screen.query(Rows)))
    return screen


async def written(pilot: Pilot[None], screen: ReadingScreen) -> None:
    """Wait until what was given is in the job."""
    await until(pilot, lambda: screen._sent is None)
    await pilot.pause()


def hands(screen: ReadingScreen) -> str:
    """Return what is to be done now."""
    return str(screen.query_one("#hands", Static).render())


def found(screen: ReadingScreen) -> str:
    """Return what the readings say."""
    return " ".join("\n".join(screen.query_one("#found", Pane).lines).split())


def meaning(screen: ReadingScreen) -> str:
    """Return what the field under the cursor is understood to mean."""
    return str(screen.query_one("#understood", Static).render())


def notice(screen: ReadingScreen) -> str:
    """Return what was said last."""
    return str(screen.query_one(Notice).render())


def test_cautions_come_first(job: Path) -> None:
    """Before any line can be chosen the usual cautions stand there, and the make-safe steps that nobody has signed."""
    text = job.read_text(encoding="utf-8")
    unsigned = '    { step = "proved-dead", date = 2026-02-14, initials = "QT", remark = "invented" },\n'
    assert unsigned in text
    job.write_text(text.replace(unsigned, ""), encoding="utf-8")

    async def steps(pilot: Pilot[None], app: RetrofitApp) -> None:
        screen = await opened(pilot, app)
        told = str(screen.query_one("#cautions", Static).render())
        assert "one hand only" in told
        assert "licensed" in told
        assert "Nobody has signed yet:" in told
        assert "proved dead" in told
        assert "mains unplugged" not in told
        assert "Local codes go before" in told

    drive(job, steps)


def test_a_reading_is_taken_as_typed_and_answered_at_once(job: Path) -> None:
    """Two readings lead to the next question, and the file holds the words as they were typed, signed and dated."""

    async def steps(pilot: Pilot[None], app: RetrofitApp) -> None:
        screen = await begin(pilot, app)
        assert "Touch red to the line great.36" in hands(screen)
        assert "nothing pressed" in hands(screen)
        assert "not known yet" in found(screen)
        await pilot.press(*"-0,1 V")
        await pilot.pause()
        assert meaning(screen) == "understood: -100 mV"
        await pilot.press("enter", *"2 mV", "enter")
        await written(pilot, screen)
        assert "Press and hold key C2, note 36." in hands(screen)
        await pilot.press(*"-18,2V", "enter", "0", "enter")
        await written(pilot, screen)
        assert "gate with decay" in found(screen)
        assert "Hang 1 MΩ from the line to the return, beside the meter." in hands(screen)

    drive(job, steps)
    first, second = readings(job)
    assert (first.line, first.state, first.load, first.volts.raw) == ("great.36", State.IDLE, Load.METER, "-0,1 V")
    assert (second.state, second.volts.raw, second.ac_volts.raw) == (State.KEYED, "-18,2V", "0")
    assert {first.initials, second.initials} == {"QT"}


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("OL", "understood: OL: beyond the meter's range, or an open circuit"),
        ("wanders", "understood: it wanders: the figure does not come to rest"),
        ("12.4", "understood: 12.4 V"),
        ("330m", "understood: 330 mV"),
        ("?", "understood: not read"),
    ],
)
def test_words_of_the_bench_are_understood_while_they_are_typed(job: Path, typed: str, meant: str) -> None:
    """What it is taken to mean stands below the field before Enter is pressed."""

    async def steps(pilot: Pilot[None], app: RetrofitApp) -> None:
        screen = await begin(pilot, app)
        screen.query_one("#field-0", Input).value = typed
        await pilot.pause()
        assert meaning(screen) == meant

    drive(job, steps)


def test_what_is_not_understood_is_not_taken(job: Path) -> None:
    """The reason stands below the field, Enter stays on it, and nothing is written."""

    async def steps(pilot: Pilot[None], app: RetrofitApp) -> None:
        screen = await begin(pilot, app)
        await pilot.press(*"1x", "enter")
        await pilot.pause()
        assert "allowed a number" in meaning(screen)
        assert screen.query_one("#field-0", Input).has_focus
        await pilot.press("backspace", "down", *"-1", "enter")
        await pilot.pause()
        assert "0 V or more" in meaning(screen)
        await pilot.press("up")
        assert screen.query_one("#field-0", Input).has_focus

    drive(job, steps)
    assert readings(job) == ()


def test_an_empty_answer_is_left_out_and_not_asked_again(job: Path) -> None:
    """Nothing typed for the AC volts: the DC volts are written, and what was left out is named at the end."""

    async def steps(pilot: Pilot[None], app: RetrofitApp) -> None:
        screen = await begin(pilot, app)
        await pilot.press("0", "enter", "enter")
        await written(pilot, screen)
        assert "Press and hold key" in hands(screen)
        await pilot.press("ctrl+n")
        await pilot.pause()
        assert "skipped: the line keyed" in notice(screen)
        assert "Nothing more is asked" in hands(screen)
        assert "Left out: the line idle with the meter alone" in hands(screen)

    drive(job, steps)
    assert [(reading.volts.raw, reading.ac_volts.raw) for reading in readings(job)] == [("0", "unknown")]


def test_nothing_to_skip_is_said(job: Path) -> None:
    """Ctrl+N while lines are chosen does nothing but say so."""

    async def steps(pilot: Pilot[None], app: RetrofitApp) -> None:
        screen = await opened(pilot, app)
        await pilot.press("ctrl+n")
        await pilot.pause()
        assert notice(screen) == "there is nothing to skip"

    drive(job, steps)


def test_undo_takes_the_last_reading_back_and_asks_again(job: Path) -> None:
    """Ctrl+Z, and the line is asked for in the state that it was read in."""

    async def steps(pilot: Pilot[None], app: RetrofitApp) -> None:
        screen = await begin(pilot, app)
        await pilot.press("0", "enter", "0", "enter")
        await written(pilot, screen)
        assert "Press and hold" in hands(screen)
        await pilot.press("ctrl+z")
        await until(pilot, lambda: "nothing pressed" in hands(screen))

    drive(job, steps)
    assert readings(job) == ()


def test_what_was_typed_outlives_the_screen(job: Path) -> None:
    """Esc in the middle of a reading, the program left and opened again: the words stand in their field."""

    async def leave(pilot: Pilot[None], app: RetrofitApp) -> None:
        screen = await begin(pilot, app)
        await pilot.press(*"-0,1")
        await pilot.press("escape")
        await pilot.pause()
        assert screen.query_one("#choosing").display
        await pilot.press("escape")
        await until(pilot, lambda: app.screen is not screen)

    async def resume(pilot: Pilot[None], app: RetrofitApp) -> None:
        screen = await begin(pilot, app)
        await pilot.pause()
        assert screen.query_one("#field-0", Input).value == "-0,1"
        await pilot.press("enter", "0", "enter")
        await written(pilot, screen)

    drive(job, leave)
    drive(job, resume)
    assert [reading.volts.raw for reading in readings(job)] == ["-0,1"]
    assert not job.with_name("job.toml.typed").exists()


def test_leaving_at_once_keeps_what_was_typed(job: Path) -> None:
    """Ctrl+Q straight after a key, before anything could be written: the words are beside the job all the same."""

    async def steps(pilot: Pilot[None], app: RetrofitApp) -> None:
        await begin(pilot, app)
        await pilot.press("7", "ctrl+q")

    drive(job, steps)
    assert '"7"' in job.with_name("job.toml.typed").read_text(encoding="ascii")


def test_a_refused_reading_stays_in_its_fields(job: Path) -> None:
    """Of a day that the as-found record has locked no reading is taken: why is said, and the words can be kept."""
    day = date(2099, 1, 1)
    lock = {"date": day, "initials": "QT", "digest": as_found_digest(load_job(job), day)}
    edit_job(job, lambda document: set_value(document, ("as_found", "locked"), lock))
    before = job.read_bytes()

    async def steps(pilot: Pilot[None], app: RetrofitApp) -> None:
        screen = await begin(pilot, app)
        await pilot.press(*"0,2", "enter", "7", "enter")
        await until(pilot, lambda: "refused" in notice(screen))
        await pilot.pause()
        assert "carry a later date" in notice(screen)
        assert screen.query_one("#field-0", Input).value == "0,2"
        assert screen.query_one("#field-1", Input).value == "7"
        assert "nothing pressed" in hands(screen)

    drive(job, steps)
    assert job.read_bytes() == before


def test_keys_while_a_reading_is_written_begin_the_next(job: Path) -> None:
    """Typing goes on without waiting: nothing of it is lost, and no digit goes to another room."""

    async def steps(pilot: Pilot[None], app: RetrofitApp) -> None:
        screen = await begin(pilot, app)
        await pilot.press("0", "enter", "0", "enter", "-", "1", "8")
        await written(pilot, screen)
        assert app.screen is screen
        assert screen.query_one("#field-0", Input).value == "-18"

    drive(job, steps)


def test_impossible_readings_are_asked_for_again(job: Path) -> None:
    """Millivolts for volts: it is named, the line is read again, and both readings stay."""

    async def steps(pilot: Pilot[None], app: RetrofitApp) -> None:
        screen = await begin(pilot, app)
        await pilot.press(*"0,0 V", "enter", *"1 mV", "enter")
        await written(pilot, screen)
        await pilot.press(*"-18,2 mV", "enter", *"1 mV", "enter")
        await written(pilot, screen)
        assert "impossible" in found(screen)
        assert "read it again" in hands(screen)
        await pilot.press("ctrl+n", *"-18,2 V", "enter", *"1 mV", "enter")
        await written(pilot, screen)
        assert "impossible" not in found(screen)

    drive(job, steps)
    assert [reading.volts.raw for reading in readings(job)] == ["0,0 V", "-18,2 mV", "-18,2 V"]


def test_initials_are_wanted(job: Path) -> None:
    """Nothing is asked of a line before somebody has signed; giving the question up goes back to the list."""

    async def steps(pilot: Pilot[None], app: RetrofitApp) -> None:
        screen = await opened(pilot, app)
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(app.screen, AskTextDialog))
        await pilot.press("enter")
        await pilot.pause()
        assert "one to eight letters" in str(app.screen.query_one("#refusal", Static).render())
        await pilot.press("escape")
        await pilot.pause()
        assert app.screen is screen
        assert not screen.query_one("#asking").display

    drive(job, steps)


@pytest.mark.parametrize("size", [(80, 24), (200, 60)])
def test_everything_needed_is_on_the_screen(job: Path, size: tuple[int, int]) -> None:
    """What to do, the fields, their meaning, the large figures and what was found are all there at once."""

    async def steps(pilot: Pilot[None], app: RetrofitApp) -> None:
        screen = await begin(pilot, app)
        await pilot.press(*"-18,2")
        await pilot.pause()
        for part in ("#hands", "#field-0", "#field-1", "#understood", "#large", "#found"):
            region = screen.query_one(part).region
            assert region.height >= 1, part
            assert region.bottom <= size[1], part
            assert region.right <= size[0], part
        assert screen.query_one("#found").region.height >= 5

    drive(job, steps, size)
