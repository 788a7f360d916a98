"""The text screen of one plan: its groups, the points of the group under the cursor, and the findings."""

from __future__ import annotations

from typing import ClassVar

from rich.text import Text
from textual import on
from textual.app import App, ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, VerticalScroll
from textual.widgets import DataTable, Footer, Static

from retrofit.cli.describe import group_sends, message_words
from retrofit.plan.model import ConversionPlan, Finding, GroupPlan, PointPlan
from retrofit.survey.problems import printable
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

    def compose(self) -> ComposeResult:
        """Lay out title, two tables side by side, findings, and the finding under the cursor in full."""
        yield Static(plain(self._title()), id="title")
        with Horizontal(id="tables"):
            yield _table("groups")
            yield _table("points")
        yield _table("findings")
        with VerticalScroll(id="detail", can_focus=False):
            yield Static(id="finding", markup=False)
        yield Footer(show_command_palette=False)

    def on_mount(self) -> None:
        """Fill the tables that never change and start in the groups."""
        groups = self._filled("groups", ("group", "by", "every"), [_group_row(group) for group in self.plan.groups])
        self._filled("findings", ("severity", "rule", "subject"), [_finding_row(f) for f in self.plan.findings])
        self._table("findings").border_title = f"Findings ({len(self.plan.findings)})"
        self._show_finding(0)
        groups.focus()

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
        points = [plan for plan in self.plan.points if plan.point.group == group.id]
        table = self._filled("points", ("point", "sends", "address", "name"), [_point_row(point) for point in points])
        table.border_title = plain(f"{group.id}: {group_sends(self.plan, group.id)}")

    @on(DataTable.RowHighlighted, "#findings")
    def show_finding(self, event: DataTable.RowHighlighted) -> None:
        """Show the finding that the cursor reached in full."""
        self._show_finding(event.cursor_row)

    def _show_finding(self, row: int) -> None:
        if row < len(self.plan.findings):
            self.query_one("#finding", Static).update(_in_full(self.plan.findings[row]))

    def _filled(self, name: str, headings: tuple[str, ...], rows: list[tuple[object, ...]]) -> DataTable[Text]:
        table = self._table(name)
        table.clear(columns=True)
        table.add_columns(*headings)
        table.add_rows([tuple(map(plain, row)) for row in rows])
        return table

    def _table(self, name: str) -> DataTable[Text]:
        return self.query_one(f"#{name}", DataTable)

    def _title(self) -> str:
        plan = self.plan
        return f"{plan.job.instrument.name}   plan {plan.digest}   {plan.board}, tick {plan.tick_us} µs"


def _table(name: str) -> DataTable[Text]:
    table: DataTable[Text] = DataTable(id=name, cursor_type="row", zebra_stripes=False)
    table.border_title = name.capitalize()
    return table


def _group_row(group: GroupPlan) -> tuple[object, ...]:
    return group.id, group.interface, f"{group.period_us / 1000:g} ms"


def _point_row(plan: PointPlan) -> tuple[object, ...]:
    point = plan.point
    name = " ".join(filter(None, (point.name, point.footage)))
    return point.id, message_words(plan), plan.address or "none", name


def _finding_row(finding: Finding) -> tuple[object, ...]:
    return ("waived" if finding.waived else finding.severity.value), finding.rule, finding.subject


def _in_full(finding: Finding) -> str:
    parts = [f"found: {finding.found}", f"allowed: {finding.allowed}", f"remedy: {finding.remedy}"]
    if finding.waived:
        parts.append(f"waived: {finding.waived}")
    return "\n".join(map(printable, parts))
