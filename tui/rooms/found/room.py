"""The room Found: the console as it was found."""

from __future__ import annotations

from collections.abc import Iterable
from typing import ClassVar

from textual import on
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.widget import Widget
from textual.widgets import Static

from retrofit.survey.contacts import Condition
from retrofit.survey.job import Job
from retrofit.survey.points import Point, list_points
from tui.desk.state import DeskState
from tui.rooms.found.reading import ReadingScreen
from tui.rooms.found.text_screen import TextScreen
from tui.rooms.room import Room
from tui.widgets.cell_grid import CellGrid, CellRow
from tui.widgets.words import plain_lines

LETTERS = {
    Condition.NOT_FITTED: "n",
    Condition.LEFT_OUT: "l",
    Condition.DEAD: "d",
}
"""What a point's cell shows by its condition; any other condition but sound is odd."""
LEGEND = ". sound or not looked at   d dead   n not fitted   l left out   o odd"


class FoundRoom(Room):
    """Groups as rows of cells, what is known of the point under the cursor, and the whole text of the job."""

    NAME: ClassVar[str] = "found"
    NEEDS_PLAN: ClassVar[bool] = False
    DEFAULT_CSS = "FoundRoom #about { height: 7; padding: 0 1; } FoundRoom #legend { height: 1; padding: 0 1; }"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("r", "reading", "Take readings", id="take-readings", tooltip="Take readings of this group's lines"),
        Binding(
            "e",
            "text",
            "Edit as text",
            id="edit-text",
            tooltip="Edit the job file; its problems stand below while you type",
        ),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._points: dict[str, list[Point]] = {}

    def compose_body(self) -> Iterable[Widget]:
        """Yield the cells, their legend, and the lines about the cell under the cursor."""
        yield CellGrid("The console", id="console")
        yield Static(LEGEND, id="legend", markup=False)
        with VerticalScroll(id="about", can_focus=False):
            yield Static(id="lines", markup=False)

    def show_job(self, state: DeskState) -> None:
        """Show the groups, or the problems that keep the job from being read."""
        grid = self.query_one(CellGrid)
        if state.job is None:
            grid.fill([])
            self._tell(["The job file has problems; e opens it at the first:", *map(str, state.problems)])
            return
        self._points = _by_group(state.job)
        grid.fill([CellRow(group, group, "".join(map(letter, points))) for group, points in self._points.items()])
        self._about()

    def show_nothing(self) -> None:
        """Say how a job is opened."""
        self._tell(["No job is open; 1 goes to Start, which opens one, begins one, or copies the demo."])

    @on(CellGrid.Moved)
    def _about(self) -> None:
        current = self.query_one(CellGrid).current
        state = self.app.state
        if current is None or state is None or state.job is None or not self._points[current[0]]:
            return
        self._tell(_point_lines(self._points[current[0]][current[1]]))

    def _tell(self, lines: list[str]) -> None:
        self.query_one("#lines", Static).update(plain_lines(lines))

    def action_reading(self) -> None:
        """Take readings of the group under the cursor, one after the other."""
        current = self.query_one(CellGrid).current
        if current is None:
            self.say("there is no group to read yet", bad=True)
        else:
            self.app.push_screen(ReadingScreen(current[0]))

    def action_text(self) -> None:
        """Edit the job as text."""
        state = self.app.state
        if state is None:
            self.say("no job is open", bad=True)
        else:
            first = next((problem.line for problem in state.problems if problem.line), 1)
            self.app.push_screen(TextScreen(state, first))


def letter(point: Point) -> str:
    """Return the letter of a point's cell."""
    condition = point.found.condition
    return LETTERS.get(condition, "." if condition in (Condition.SOUND, Condition.UNKNOWN) else "o")


def _by_group(job: Job) -> dict[str, list[Point]]:
    groups: dict[str, list[Point]] = {group.id: [] for group in job.groups}
    for point in list_points(job):
        groups[point.group].append(point)
    return groups


def _point_lines(point: Point) -> list[str]:
    found = point.found
    tags = {"strip": found.strip, "tag": found.tag, "wire": found.wire_colour, "photo": found.photo}
    facts = [f"condition {found.condition.value}", *(f"{word} {words}" for word, words in tags.items() if words)]
    notes = [f"{note.date.isoformat()} {note.initials}: {note.text}" for note in found.notes]
    return [f"{point.id}  {point.name} {point.footage}".rstrip(), ", ".join(facts), *notes]
