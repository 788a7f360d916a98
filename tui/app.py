"""The text screen of one plan: its groups, the points of the group under the cursor, and the findings."""

from __future__ import annotations

from typing import ClassVar

from rich.text import Text
from textual import on
from textual.app import App, ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, VerticalScroll
from textual.events import DescendantFocus
from textual.widgets import DataTable, Footer, Static

from retrofit.cli.describe import group_sends, message_words
from retrofit.plan.model import ConversionPlan, Finding, PointPlan
from retrofit.survey.problems import printable
from tui.details import finding_lines, group_lines, point_lines
from tui.help_screen import HelpScreen


def plain(words: object) -> Text:
    """Return a cell that shows `words` as they are: never as markup, and nothing in it moves the cursor."""
    return Text(printable(str(words)), no_wrap=True)


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

    def compose(self) -> ComposeResult:
        """Lay out title, two tables side by side, findings, and the lines about what is under the cursor."""
        yield Static(plain(self._title()), id="title")
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
        self._fill("findings", ("severity", "rule", "subject"), [_finding_row(f) for f in self.plan.findings])
        self._table("findings").border_title = f"Findings ({len(self.plan.findings)})"
        self._table("groups").focus()

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
        self._fill("points", ("point", "sends", "address", "name"), [_point_row(point) for point in self.points])
        self._table("points").border_title = plain(f"{group.id}: {group_sends(self.plan, group.id)}")

    @on(DataTable.RowHighlighted)
    def follow_cursor(self, event: DataTable.RowHighlighted) -> None:
        """Tell about the row that the cursor reached."""
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

    def _fill(self, name: str, headings: tuple[str, ...], rows: list[tuple[object, ...]]) -> None:
        table = self._table(name)
        table.clear(columns=True)
        table.add_columns(*headings)
        table.add_rows([tuple(map(plain, row)) for row in rows])

    def _table(self, name: str) -> DataTable[Text]:
        return self.query_one(f"#{name}", DataTable)

    def _title(self) -> str:
        plan = self.plan
        return f"{plan.job.instrument.name}   plan {plan.digest}   {plan.board}, tick {plan.tick_us} µs"


def _table(name: str) -> DataTable[Text]:
    table: DataTable[Text] = DataTable(id=name, cursor_type="row", zebra_stripes=False)
    table.border_title = name.capitalize()
    return table


def _point_row(plan: PointPlan) -> tuple[object, ...]:
    point = plan.point
    name = " ".join(filter(None, (point.name, point.footage)))
    return point.id, message_words(plan), plan.address or "none", name


def _finding_row(finding: Finding) -> tuple[object, ...]:
    return ("waived" if finding.waived else finding.severity.value), finding.rule, finding.subject
