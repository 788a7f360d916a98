"""The text screen: keys alone, 80 by 24, and names that are never taken for markup."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable
from dataclasses import replace
from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import DataTable, Static

from retrofit.cli.jobs import open_job
from retrofit.cli.plans import planned
from retrofit.plan.model import ConversionPlan, Finding, Severity
from retrofit.scan.addresses import Address, ChainAddress, ConverterAddress, MatrixAddress, PinAddress
from tests.cli.conftest import Command
from tui.app import PlanApp
from tui.cells import MARK, short_address
from tui.help_screen import HelpScreen

MARKUP = "[red]loud[/] \x1b[31m"
FINDING = Finding("a-rule", Severity.WARNING, "tabs.echo", MARKUP, "allowed", "remedy")


@pytest.fixture
def plan(gutted: Path) -> ConversionPlan:
    """Return the gutted demo console's plan with a name and a finding that look like markup."""
    text = gutted.read_text(encoding="utf-8").replace('name = "Bourdon", ', 'name = "[b]Bourdon[/b]\\u001b",')
    gutted.write_text(text, encoding="utf-8")
    return replace(planned(open_job(gutted)), findings=(FINDING,))


def on_screen(
    plan: ConversionPlan, steps: Callable[[Pilot[None]], Awaitable[None]], size: tuple[int, int] = (80, 24)
) -> None:
    """Run steps at a screen of 80 by 24, or of another size."""

    async def run() -> None:
        async with PlanApp(plan).run_test(size=size) as pilot:
            await pilot.pause()
            await steps(pilot)

    asyncio.run(run())


def cells(pilot: Pilot[None], table: str) -> list[list[str]]:
    """Return the words of a table, row by row."""
    found = pilot.app.query_one(f"#{table}", DataTable)
    return [[str(cell).lstrip("› ").rstrip() for cell in found.get_row_at(row)] for row in range(found.row_count)]


def marked(pilot: Pilot[None], table: str) -> list[int]:
    """Return the rows of a table that bear the cursor's mark."""
    found = pilot.app.query_one(f"#{table}", DataTable)
    return [row for row in range(found.row_count) if str(found.get_row_at(row)[0]).startswith(MARK)]


def lines(pilot: Pilot[None]) -> str:
    """Return what is told about the row under the cursor."""
    return str(pilot.app.query_one("#lines", Static).render())


def test_the_cursor_leads_through_the_groups(plan: ConversionPlan) -> None:
    """The points shown are those of the group under the cursor, with message and address."""

    async def steps(pilot: Pilot[None]) -> None:
        assert [row[0] for row in cells(pilot, "groups")] == ["upper", "lower", "pedal", "tabs", "pistons", "shoe"]
        assert cells(pilot, "points")[0][:3] == ["36", "reg 0 bit 0", "note 36 ch 1"]
        assert "Upper manual: sampled every 500 µs" in lines(pilot)
        await pilot.press("down", "down", "down")
        await pilot.pause()
        assert len(cells(pilot, "points")) == 24

    on_screen(plan, steps)


def test_names_are_never_markup(plan: ConversionPlan) -> None:
    """Brackets in a name or a finding are shown as brackets, and a control character as its escape."""

    async def steps(pilot: Pilot[None]) -> None:
        await pilot.press("down", "down", "down")
        await pilot.pause()
        assert cells(pilot, "points")[0][3] == "[b]Bourdon[/b]\\x1b 16"
        await pilot.press("p")
        assert r"tabs.bourdon-16 ([b]Bourdon[/b]\x1b 16): controller 3" in lines(pilot)
        await pilot.press("f")
        assert r"found: [red]loud[/] \x1b[31m" in lines(pilot)

    on_screen(plan, steps)


def test_the_cursor_is_marked_without_colour(plan: ConversionPlan) -> None:
    """One row of each table bears the mark, and it goes with the cursor, also into another group's points."""

    async def steps(pilot: Pilot[None]) -> None:
        assert [marked(pilot, table) for table in ("groups", "points", "findings")] == [[0], [0], [0]]
        await pilot.press("p", "down", "down", "down")
        assert marked(pilot, "points") == [3]
        await pilot.press("g", "down", "down")
        await pilot.pause()
        assert (marked(pilot, "groups"), marked(pilot, "points")) == ([2], [0])

    on_screen(plan, steps)


@pytest.mark.parametrize("name", ["gutted", "theatre"])
def test_addresses_are_whole_at_eighty_columns(name: str, request: pytest.FixtureRequest) -> None:
    """In every group of both demo consoles the columns up to the address fit into the pane."""

    async def steps(pilot: Pilot[None]) -> None:
        table = pilot.app.query_one("#points", DataTable)
        for _ in pilot.app.query_one("#groups", DataTable).rows:
            await pilot.pause()
            columns = [column.get_render_width(table) for column in table.ordered_columns]
            assert sum(columns[:2]) <= table.scrollable_content_region.width
            await pilot.press("down")

    on_screen(planned(open_job(request.getfixturevalue(name))), steps)


@pytest.mark.parametrize(
    ("address", "words"),
    [
        (ChainAddress(3, 5), "reg 3 bit 5"),
        (MatrixAddress(1, 2, 5), "matrix 1 r2 c5"),
        (PinAddress("22", "A", 0), "pin 22"),
        (ConverterAddress(0), "converter 0"),
        (None, "none"),
    ],
)
def test_addresses_are_short_in_a_column(address: Address | None, words: str) -> None:
    """Every kind of address has a form that fits a narrow column."""
    assert short_address(address) == words


@pytest.mark.parametrize(("size", "small"), [((80, 24), False), ((79, 24), True), ((80, 23), True)])
def test_a_small_terminal_is_told(size: tuple[int, int], small: bool, plan: ConversionPlan) -> None:
    """Below 80 by 24 a line says how large the terminal is and has to be."""

    async def steps(pilot: Pilot[None]) -> None:
        notice = pilot.app.query_one("#too-small", Static)
        assert notice.display is small
        assert str(notice.render()) == f"{size[0]} x {size[1]}: too small, 80 x 24 are needed"

    on_screen(plan, steps, size)


@pytest.mark.parametrize(("size", "words"), [((80, 24), "Esc closes"), ((60, 16), "↓ shows more, Esc closes")])
def test_help_fits_or_says_that_it_goes_on(size: tuple[int, int], words: str, plan: ConversionPlan) -> None:
    """At 80 by 24 the whole list is seen; a lower screen says how to see the rest."""

    async def steps(pilot: Pilot[None]) -> None:
        await pilot.press("question_mark")
        await pilot.pause()
        assert pilot.app.screen.query_one("#help").border_subtitle == words

    on_screen(plan, steps, size)


def test_help_lists_every_key_and_closes(plan: ConversionPlan) -> None:
    """`?` opens a list made from the bindings themselves; the same key closes it."""

    async def steps(pilot: Pilot[None]) -> None:
        await pilot.press("question_mark")
        assert isinstance(pilot.app.screen, HelpScreen)
        listed = {binding.action for binding in pilot.app.screen.bindings}
        assert {binding.action for binding in PlanApp.BINDINGS} <= listed  # type: ignore[union-attr]  # all are Binding
        await pilot.press("question_mark")
        assert not isinstance(pilot.app.screen, HelpScreen)

    on_screen(plan, steps)


def test_keys_go_to_the_tables_and_out(plan: ConversionPlan) -> None:
    """Each table has its key, and `q` leaves."""

    async def steps(pilot: Pilot[None]) -> None:
        for key, table in (("p", "points"), ("f", "findings"), ("g", "groups")):
            await pilot.press(key)
            assert pilot.app.focused is not None
            assert pilot.app.focused.id == table
        await pilot.press("q")
        assert pilot.app.return_code == 0

    on_screen(plan, steps)


@pytest.mark.parametrize("binding", [*PlanApp.BINDINGS, *HelpScreen.BINDINGS], ids=lambda binding: binding.id)
def test_every_binding_explains_itself(binding: object) -> None:
    """A key has an id, a short word and a sentence."""
    assert all(getattr(binding, part) for part in ("id", "description", "tooltip"))


def test_the_screen_needs_a_terminal(retrofit: Command, gutted: Path) -> None:
    """In a pipe the command says what shows the same as text."""
    ended = retrofit("ui", gutted)
    assert ended.code == 3
    assert f"see: retrofit plan {gutted}" in ended.err


def test_the_screen_is_not_opened_for_a_file_with_problems(retrofit: Command, misspelt: Path) -> None:
    """Problems are said on stderr as everywhere else."""
    ended = retrofit("ui", misspelt)
    assert ended.code == 1
    assert "did you mean 'cable_length'?" in ended.err
