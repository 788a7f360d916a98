"""The text screen of one plan: its groups, the points of the group under the cursor, and the findings."""

from __future__ import annotations

from typing import ClassVar

from rich.text import Text
from textual import on
from textual.app import App, ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, VerticalScroll
from textual.coordinate import Coordinate
from textual.events import DescendantFocus, Resize
from textual.widgets import DataTable, Footer, Static

from retrofit.cli.describe import group_sends
from retrofit.plan.model import ConversionPlan, PointPlan
from retrofit.survey.problems import printable
from tui.cells import finding_row, first_cell, plain, point_row, row_cells
from tui.details import finding_lines, group_lines, point_lines
from tui.help_screen import HelpScreen

LEAST_COLUMNS, LEAST_LINES = 80, 24
"""The screen is laid out for this size; a smaller one says so."""


class PlanApp(App[None]):
    """A plan to look at.  Nothing here changes anything."""

    CSS_PATH = "plan.tcss"
    ENABLE_COMMAND_PALETTE = False
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("g", "to('groups')", "Groups", id="groups", tooltip="Go to the list of groups"),
        Binding("p", "to('points')", "Points", id="points", tooltip="Go to the points of the group under the cursor"),
        Binding("f", "to('findings')", "Findings", id="findings", tooltip="Go to what the rules found"),
        Binding("question_mark", "help", "Help", key_display="?", id="help", tooltip="List every key"),
        Binding("q", "quit", "Quit", id="quit", tooltip="Leave; nothing was changed"),
    ]

    def __init__(self, plan: ConversionPlan) -> None:
        super().__init__()
        self.plan = plan
        self.points: list[PointPlan] = []
        self._marked: dict[str, int] = {}
        self._rows: dict[str, list[tuple[str, ...]]] = {}

    def compose(self) -> ComposeResult:
        """Lay out title, two tables side by side, findings, and the lines about what is under the cursor."""
        yield Static(plain(self._title()), id="title")
        yield Static(id="too-small", markup=False)
        with Horizontal(id="tables"):
            yield _table("groups")
            yield _table("points")
        yield _table("findings")
        with VerticalScroll(id="detail", can_focus=False):
            yield Static(id="lines", markup=False)
        yield Footer(show_command_palette=False)

    def on_mount(self) -> None:
        """Fill the tables that never change and start in the groups."""
        self._fill("groups", ("group", "read by"), [(group.id, group.interface) for group in self.plan.groups])
        self._fill("findings", ("severity", "rule", "subject"), [finding_row(f) for f in self.plan.findings])
        self._table("findings").border_title = f"Findings ({len(self.plan.findings)})"
        self._table("groups").focus()

    def on_resize(self, event: Resize) -> None:
        """Say how large the terminal has to be when it is smaller."""
        size = event.size
        notice = self.query_one("#too-small", Static)
        notice.display = size.width < LEAST_COLUMNS or size.height < LEAST_LINES
        notice.update(f"{size.width} x {size.height}: too small, {LEAST_COLUMNS} x {LEAST_LINES} are needed")

    def action_to(self, table: str) -> None:
        """Put the cursor into one of the tables."""
        self._table(table).focus()

    def action_help(self) -> None:
        """List the keys that work where the cursor is."""
        self.push_screen(HelpScreen([active.binding for active in self.screen.active_bindings.values()]))

    @on(DataTable.RowHighlighted, "#groups")
    def show_group(self, event: DataTable.RowHighlighted) -> None:
        """Show the points of the group that the cursor reached."""
        group = self.plan.groups[event.cursor_row]
        self.points = [plan for plan in self.plan.points if plan.point.group == group.id]
        self._fill("points", ("point", "address", "sends", "name"), [point_row(point) for point in self.points])
        self._table("points").border_title = plain(f"{group.id}: {group_sends(self.plan, group.id)}")

    @on(DataTable.RowHighlighted)
    def follow_cursor(self, event: DataTable.RowHighlighted) -> None:
        """Mark the row that the cursor reached, and tell about it."""
        self._mark(event.data_table, event.cursor_row)
        if event.data_table.has_focus:
            self._tell(event.data_table)

    def on_descendant_focus(self, event: DescendantFocus) -> None:
        """Tell about the row under the cursor of the table that was reached."""
        if isinstance(event.widget, DataTable):
            self._tell(event.widget)

    def _tell(self, table: DataTable[Text]) -> None:
        row = table.cursor_row
        lines: list[str] = []
        match table.id:
            case "groups" if row < len(self.plan.groups):
                lines = group_lines(self.plan.groups[row])
            case "points" if row < len(self.points):
                lines = point_lines(self.points[row])
            case "findings" if row < len(self.plan.findings):
                lines = finding_lines(self.plan.findings[row])
        self.query_one("#lines", Static).update("\n".join(map(printable, lines)))

    def _fill(self, name: str, headings: tuple[str, ...], rows: list[tuple[str, ...]]) -> None:
        table = self._table(name)
        table.clear(columns=True)
        table.add_columns(*row_cells(headings))
        table.add_rows(map(row_cells, rows))
        self._rows[name] = rows
        self._marked.pop(name, None)

    def _mark(self, table: DataTable[Text], row: int) -> None:
        """Move the mark to a row; it is what shows the cursor where there is no colour."""
        name = str(table.id)
        rows, before = self._rows[name], self._marked.get(name)
        if row >= len(rows):
            return
        if before is not None:
            table.update_cell_at(Coordinate(before, 0), first_cell(rows[before][0], marked=False))
        table.update_cell_at(Coordinate(row, 0), first_cell(rows[row][0], marked=True))
        self._marked[name] = row

    def _table(self, name: str) -> DataTable[Text]:
        return self.query_one(f"#{name}", DataTable)

    def _title(self) -> str:
        plan = self.plan
        return f"{plan.job.instrument.name}   plan {plan.digest}   {plan.board}, tick {plan.tick_us} µs"


def _table(name: str) -> DataTable[Text]:
    table: DataTable[Text] = DataTable(id=name, cursor_type="row", zebra_stripes=False, cell_padding=0)
    table.border_title = name.capitalize()
    return table
