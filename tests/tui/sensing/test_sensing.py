"""The room Sensing, driven by its keys."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from textual.pilot import Pilot

from retrofit.survey.load import load_job
from retrofit.survey.wishes import Interface, Sense
from tests.tui.driving import drive, until
from tui.app import RetrofitApp
from tui.dialogs.ask import AskDialog
from tui.dialogs.choose import ChooseDialog
from tui.rooms.sensing.room import SensingRoom
from tui.widgets.frame import Notice
from tui.widgets.pane import Pane
from tui.widgets.rows import Rows

ROOT = Path(__file__).parents[3]


@pytest.fixture
def organs(tmp_path: Path) -> Path:
    """Return a copy of an invented job whose one group is the organ's, with volts below its return."""
    return Path(shutil.copy(ROOT / "tests/plan/awkward/positive_ground.toml", tmp_path / "organs.toml"))


@pytest.fixture
def ours(tmp_path: Path) -> Path:
    """Return a copy of the invented job whose lines are all ours."""
    return Path(shutil.copy(ROOT / "retrofit/demo/gutted_home.toml", tmp_path / "ours.toml"))


async def enter(pilot: Pilot[None], app: RetrofitApp) -> SensingRoom:
    """Go to the room."""
    await pilot.press("3")
    await until(pilot, lambda: isinstance(app.screen, SensingRoom) and bool(app.screen.query_one("#groups", Rows).keys))
    assert isinstance(app.screen, SensingRoom)
    return app.screen


def text(room: SensingRoom) -> str:
    """Return what the room tells of the group under the cursor."""
    return "\n".join(room.query_one("#about", Pane).lines)


def notice(app: RetrofitApp) -> str:
    """Return what was said last."""
    return str(app.screen.query_one(Notice).render())


def test_a_group_is_told_with_its_circuit_in_every_respect(organs: Path) -> None:
    """Verdict by sign and word, drawing, figures with the corner that decided, what the organ feels, and refusals."""

    async def steps(pilot: Pilot[None], app: RetrofitApp) -> None:
        room = await enter(pilot, app)
        told = " ".join(text(room).split())
        assert "[+] good, comparator with its threshold between the states" in told
        assert "── comparator −" in told
        assert "<- decides" in told
        assert "µA a line" in told
        assert "board off" in told
        assert "high-impedance divider" in told[told.index("OTHER CIRCUITS") :]
        assert "use an offset divider" in told[told.index("OTHER CIRCUITS") :]
        assert "isolation: our ground is joined to the organ's return by great" in told
        assert "our supply: at most" in told

    drive(organs, steps)


def test_the_text_follows_the_cursor(ours: Path) -> None:
    """Down in the list of groups, and another group is told of; lines of ours feel nothing."""

    async def steps(pilot: Pilot[None], app: RetrofitApp) -> None:
        room = await enter(pilot, app)
        assert "[contact]" in text(room)
        assert "nothing: these lines are ours from end to end" in text(room)
        await pilot.press("down")
        await pilot.pause()
        assert "[key]──[>| diode 1N4148]── pin of the row" in text(room)

    drive(ours, steps)


@pytest.mark.parametrize(
    ("key", "heading"),
    [
        ("d", "DRAWING"),
        ("f", "FIGURES OF THE CIRCUIT"),
        ("w", "WHAT THE ORGAN FEELS"),
        ("a", "OTHER CIRCUITS"),
    ],
)
def test_a_key_leads_to_each_part_of_the_text(organs: Path, key: str, heading: str) -> None:
    """The heading stands at the top of the text."""

    async def steps(pilot: Pilot[None], app: RetrofitApp) -> None:
        room = await enter(pilot, app)
        await pilot.press(key)
        await pilot.pause()
        pane = room.query_one("#about", Pane)
        assert pane.lines[round(pane.scroll_target_y)] == heading

    drive(organs, steps)


def test_the_last_part_is_seen_and_one_key_goes_through_all(organs: Path) -> None:
    """S shows the supplies, which end the text; N goes from heading to heading, and from the last to the top."""

    async def steps(pilot: Pilot[None], app: RetrofitApp) -> None:
        room = await enter(pilot, app)
        pane = room.query_one("#about", Pane)
        await pilot.press("s")
        await pilot.pause()
        at = round(pane.scroll_target_y)
        assert "ISOLATION AND SUPPLIES" in pane.lines[at : at + pane.scrollable_content_region.height]
        await pilot.press("n")
        await pilot.pause()
        below = pane.scroll_target_y
        await pilot.press("n")
        await pilot.pause()
        assert pane.scroll_target_y != below
        tops = [pane.scroll_target_y]
        for _ in range(7):
            await pilot.press("n")
            await pilot.pause()
            tops.append(pane.scroll_target_y)
        assert 0 in tops
        assert len(set(tops)) >= 5

    drive(organs, steps)


def test_another_circuit_is_tried_out_before_it_is_wished_for(organs: Path) -> None:
    """C lists the circuits, Enter shows what would change, Y writes the wish; the plan then follows it."""

    async def steps(pilot: Pilot[None], app: RetrofitApp) -> None:
        room = await enter(pilot, app)
        await pilot.press("c")
        await until(pilot, lambda: isinstance(app.screen, ChooseDialog))
        rows = app.screen.query_one(Rows)
        assert rows.current == "unknown"
        assert "optocoupler" in rows.keys
        assert "pull-up" in rows.keys
        rows.go_to("optocoupler")
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(app.screen, AskDialog))
        assert isinstance(app.screen, AskDialog)
        shown = "\n".join(app.screen.lines)
        assert "circuits: 1" in shown
        assert "great: comparator with its threshold between the states (good) -> optocoupler with threshold" in shown
        assert load_job(organs).groups[0].wanted.sense is Sense.UNKNOWN
        await pilot.press("y")
        await until(pilot, lambda: app.state is not None and bool(app.state.undoes))
        assert "[|< LED of PC817]" in text(room)

    drive(organs, steps)
    assert load_job(organs).groups[0].wanted.sense is Sense.OPTOCOUPLER


def test_no_leaves_the_job_as_it_was(organs: Path) -> None:
    """N to what would change, and the file has not a byte changed."""
    before = organs.read_bytes()

    async def steps(pilot: Pilot[None], app: RetrofitApp) -> None:
        await enter(pilot, app)
        await pilot.press("c")
        await until(pilot, lambda: isinstance(app.screen, ChooseDialog))
        app.screen.query_one(Rows).go_to("optocoupler")
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(app.screen, AskDialog))
        await pilot.press("n")
        await pilot.pause()
        assert notice(app) == "nothing changed"

    drive(organs, steps)
    assert organs.read_bytes() == before


def test_the_wish_that_stands_changes_nothing(organs: Path) -> None:
    """Enter on the wish that the job has already is answered at once, and nothing is asked."""

    async def steps(pilot: Pilot[None], app: RetrofitApp) -> None:
        await enter(pilot, app)
        await pilot.press("c", "enter")
        await until(pilot, lambda: isinstance(app.screen, SensingRoom) and "already" in notice(app))

    drive(organs, steps)


def test_a_refused_circuit_says_why_in_the_list(organs: Path) -> None:
    """Under the cursor a circuit that the line does not permit has its reason below."""

    async def steps(pilot: Pilot[None], app: RetrofitApp) -> None:
        await enter(pilot, app)
        await pilot.press("c")
        await until(pilot, lambda: isinstance(app.screen, ChooseDialog))
        app.screen.query_one(Rows).go_to("pull-up")
        await pilot.pause()
        why = str(app.screen.query_one("#why").render())
        assert why.startswith("refused: ")
        await pilot.press("escape")
        await pilot.pause()
        assert isinstance(app.screen, SensingRoom)

    drive(organs, steps)


def test_another_interface_is_wished_for_and_taken_back(ours: Path) -> None:
    """I, chain, Y: the wish is in the file; Ctrl+Z brings back the pins that the console has."""

    async def steps(pilot: Pilot[None], app: RetrofitApp) -> None:
        await enter(pilot, app)
        room = app.screen
        room.query_one("#groups", Rows).go_to("pistons")
        await pilot.pause()
        await pilot.press("i")
        await until(pilot, lambda: isinstance(app.screen, ChooseDialog))
        app.screen.query_one(Rows).go_to("chain")
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(app.screen, AskDialog))
        assert isinstance(app.screen, AskDialog)
        assert "pistons, read by: pins -> chain" in "\n".join(app.screen.lines)
        await pilot.press("y")
        await until(pilot, lambda: app.state is not None and bool(app.state.undoes))
        wished = next(group for group in load_job(ours).groups if group.id == "pistons")
        assert wished.wanted.interface is Interface.CHAIN
        await pilot.press("ctrl+z")
        await until(pilot, lambda: app.state is not None and not app.state.undoes)

    before = ours.read_bytes()
    drive(ours, steps)
    assert ours.read_bytes() == before


def test_preserving_the_originals_shows_what_it_changes(ours: Path) -> None:
    """O says which steps, papers and findings come and go, and writes the word only after Y."""

    async def steps(pilot: Pilot[None], app: RetrofitApp) -> None:
        room = await enter(pilot, app)
        assert "free" in [str(cell) for cell in room.query_one("#groups", Rows).get_row_at(0)][3]
        await pilot.press("o")
        await until(pilot, lambda: isinstance(app.screen, AskDialog))
        assert isinstance(app.screen, AskDialog)
        shown = "\n".join(app.screen.lines)
        assert "What would change: circuits: " in shown
        assert "steps that must leave the originals as they were: 0 -> " in shown
        assert "+ putback-sheet.txt" in shown
        assert "+ warning supply-not-read supplies.old-generator-supply" in shown
        assert not load_job(ours).originals.preserved
        await pilot.press("y")
        await until(pilot, lambda: app.state is not None and bool(app.state.undoes))
        assert "kept" in [str(cell) for cell in room.query_one("#groups", Rows).get_row_at(0)][3]

    drive(ours, steps)
    assert load_job(ours).originals.preserved


def test_the_wish_for_an_interface_is_taken_out(ours: Path) -> None:
    """No wish is the absence of the word, so that the plan proposes an interface."""

    async def steps(pilot: Pilot[None], app: RetrofitApp) -> None:
        room = await enter(pilot, app)
        room.query_one("#groups", Rows).go_to("pistons")
        await pilot.press("i")
        await until(pilot, lambda: isinstance(app.screen, ChooseDialog))
        app.screen.query_one(Rows).go_to("unknown")
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(app.screen, AskDialog))
        await pilot.press("y")
        await until(pilot, lambda: app.state is not None and bool(app.state.undoes))

    drive(ours, steps)
    assert next(group for group in load_job(ours).groups if group.id == "pistons").wanted.interface is None


def test_a_refused_trial_says_why_and_changes_nothing(ours: Path) -> None:
    """An edit that leaves no sound job is refused with its reason, and nothing is asked."""
    said: list[str] = []

    async def steps(pilot: Pilot[None], app: RetrofitApp) -> None:
        room = await enter(pilot, app)
        room._try_out("tried", lambda document: document["groups"].clear(), [])
        await until(pilot, lambda: isinstance(app.screen, SensingRoom) and bool(notice(app)))
        said.append(notice(app))

    drive(ours, steps)
    assert "tried: refused" in said[0]
    assert "groups" in said[0]


def test_a_job_that_nothing_is_sensed_of_says_what_to_do(tmp_path: Path) -> None:
    """With nothing but a shoe of ours the text names the room in which groups are written down."""
    path = tmp_path / "shoe.toml"
    path.write_text(
        'format = 1\n[instrument]\nname = "invented"\n[[divisions]]\nid = "great"\n[[groups]]\nid = "shoe"\n'
        'kind = "shoes"\ndivision = "great"\npoints = [{ id = "swell", sensor = "potentiometer" }]\n'
        '[groups.wiring]\nowner = "us"\n',
        encoding="utf-8",
    )

    async def steps(pilot: Pilot[None], app: RetrofitApp) -> None:
        await pilot.press("3")
        await until(pilot, lambda: isinstance(app.screen, SensingRoom) and bool(text(app.screen)))
        assert isinstance(app.screen, SensingRoom)
        assert "2 goes to Found" in text(app.screen)
        await pilot.press("c")
        await pilot.pause()
        assert "no group is under the cursor" in notice(app)

    drive(path, steps)


def test_list_and_text_stand_side_by_side_where_there_is_room(organs: Path) -> None:
    """At 200 columns the text begins to the right of the list, at 80 below it."""

    async def wide(pilot: Pilot[None], app: RetrofitApp) -> None:
        room = await enter(pilot, app)
        assert room.query_one("#about").region.x >= room.query_one("#groups").region.right
        await pilot.resize_terminal(80, 24)
        await pilot.pause()
        assert room.query_one("#about").region.y >= room.query_one("#groups").region.bottom
        assert room.query_one("#about").region.height >= 8

    drive(organs, wide, size=(200, 60))
