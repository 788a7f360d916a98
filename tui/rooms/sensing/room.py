"""The room Sensing: how every line becomes a level, what that does to the organ, and other ways to do it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from functools import partial
from typing import ClassVar

from textual import on
from textual.binding import Binding, BindingType
from textual.containers import Container
from textual.widget import Widget
from textual.widgets import DataTable

from retrofit.plan.sensing.model import GroupSensing
from retrofit.survey.problems import JobFileError
from retrofit.survey.save import Edit
from tui.desk.sensing import DRAWING, FIGURES, ORGAN, OTHERS, SHARED, group_row, sections
from tui.desk.state import DeskState
from tui.desk.trial import Trial, try_out
from tui.desk.wishes import (
    circuit_rows,
    interface_rows,
    interface_wish,
    originals_wish,
    own_statements,
    sense_wish,
)
from tui.dialogs.ask import AskDialog
from tui.dialogs.choose import ChooseDialog
from tui.dialogs.work import Done, Progress, WorkDialog
from tui.rooms.room import Room
from tui.widgets.pane import Pane, Said
from tui.widgets.rows import Rows

_WIDE = 130
"""From this width on list and text stand side by side."""


class SensingRoom(Room):
    """The groups with their circuits, and everything that is known of the one under the cursor."""

    NAME: ClassVar[str] = "sensing"
    DEFAULT_CSS = """
    SensingRoom #parts { height: 1fr; layout: vertical; }
    SensingRoom #groups { height: 1fr; max-height: 9; }
    SensingRoom #about { height: 1fr; }
    SensingRoom #parts.wide { layout: horizontal; }
    SensingRoom #parts.wide #groups { width: 2fr; max-height: 100%; }
    SensingRoom #parts.wide #about { width: 3fr; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("c", "circuit", "Circuit", id="sense-circuit", tooltip="Choose another circuit for this group"),
        Binding("i", "interface", "Interface", id="sense-interface", tooltip="Choose how this group reaches the board"),
        Binding("o", "originals", "Originals", id="sense-originals", tooltip="Preserve the original circuits, or not"),
        Binding("n", "section(1)", "Next part", id="sense-next", tooltip="Go to the next heading of the text"),
        Binding("d", f"show({DRAWING!r})", "Drawing", show=False, id="sense-drawing", tooltip="Show the drawing"),
        Binding(
            "f", f"show({FIGURES!r})", "Figures", show=False, id="sense-figures", tooltip="Show figures and limits"
        ),
        Binding("w", f"show({ORGAN!r})", "Organ", show=False, id="sense-organ", tooltip="Show what the organ feels"),
        Binding(
            "a",
            f"show({OTHERS!r})",
            "Others",
            show=False,
            id="sense-others",
            tooltip="Show the other circuits, and why",
        ),
        Binding(
            "s", f"show({SHARED!r})", "Supplies", show=False, id="sense-supplies", tooltip="Show isolation and supplies"
        ),
    ]

    def compose_body(self) -> Iterable[Widget]:
        """Yield the groups and the text about one."""
        with Container(id="parts"):
            yield Rows("group", "read by", "verdict", "originals", "circuit", title="Groups", id="groups")
            yield Pane("Circuit", id="about")

    def on_resize(self) -> None:
        """Put list and text side by side where there is room."""
        super().on_resize()
        self.query_one("#parts").set_class(self.app.size.width >= _WIDE, "wide")

    def show_job(self, state: DeskState) -> None:
        """Show the groups, and the text about the one under the cursor."""
        plan = state.plan
        if plan is None:
            return
        self._groups.fill([(sensed.group, group_row(plan, sensed)) for sensed in plan.sensing])
        self._tell()

    @on(DataTable.RowHighlighted, "#groups")
    def _tell(self) -> None:
        state, sensed = self.app.state, self._sensed()
        pane = self.query_one("#about", Pane)
        if state is None or state.plan is None or sensed is None:
            pane.border_title = "Circuit"
            pane.tell(
                [Said("No group is sensed yet. 2 goes to Found, where the wiring of each group is written down.")]
            )
            return
        pane.border_title = f"{sensed.group}: n goes from part to part"
        said: list[Said] = []
        for section in sections(state.plan, sensed):
            said += [Said(""), Said(section.heading)] if section.heading else []
            said += [Said(*paragraph, section.drawn) for paragraph in section.paragraphs]
        pane.tell(said)

    @property
    def _groups(self) -> Rows:
        return self.query_one("#groups", Rows)

    def _sensed(self) -> GroupSensing | None:
        """Return the group under the cursor."""
        plan = self.app.state.plan if self.app.state is not None else None
        current = self._groups.current
        return None if plan is None else next((one for one in plan.sensing if one.group == current), None)

    def action_show(self, heading: str) -> None:
        """Scroll the text to a heading."""
        self.query_one("#about", Pane).go_to(heading)

    def action_section(self, by: int) -> None:
        """Scroll the text to the next heading, after the last to the top."""
        self.query_one("#about", Pane).go_on((DRAWING, FIGURES, ORGAN, OTHERS, SHARED), by)

    def action_circuit(self) -> None:
        """Choose the circuit of a group: first the list, then what would change, then it is done."""
        sensed, state = self._sensed(), self.app.state
        if sensed is None or state is None or state.plan is None:
            self.say("no group is under the cursor", bad=True)
            return
        rows, now = circuit_rows(state.plan, sensed)
        lines = ["Circuits that the line does not permit stand last; they can be wished for, and are then refused."]
        self._choose(
            f"Circuit of {sensed.group}",
            lines,
            ("circuit", "verdict"),
            rows,
            now,
            partial(sense_wish, sensed.group),
        )

    def action_interface(self) -> None:
        """Choose how a group reaches the board, in the same way."""
        sensed, state = self._sensed(), self.app.state
        if sensed is None or state is None or state.plan is None:
            self.say("no group is under the cursor", bad=True)
            return
        rows, now = interface_rows(state.plan, sensed.group)
        wish = partial(interface_wish, sensed.group)
        self._choose(f"Interface of {sensed.group}", [], ("interface",), rows, now, wish)

    def action_originals(self) -> None:
        """Preserve the original circuits of the whole job, or no longer: what changes is shown first."""
        state = self.app.state
        if state is None or state.job is None:
            self.say("no job is open", bad=True)
            return
        preserve = not state.job.originals.preserved
        label = "original circuits preserved" if preserve else "original circuits no longer preserved"
        self._try_out(label, originals_wish(preserve), own_statements(state.job))

    def _choose(
        self,
        title: str,
        lines: list[str],
        headings: Sequence[str],
        rows: Sequence[tuple[str, Sequence[str]]],
        now: str,
        wish: Callable[[str], Edit],
    ) -> None:
        """Let one be chosen, and try it out when it is another than now."""

        def taken(choice: str | None) -> None:
            if choice is None:
                return
            if choice == now:
                self.say("that is what the job wishes already; nothing changes")
                return
            self._try_out(f"{title}: {choice}", wish(choice), [])

        self.app.push_screen(ChooseDialog(title, lines, headings, rows, now), taken)

    def _try_out(self, label: str, edit: Edit, remarks: list[str]) -> None:
        """Work out what an edit would change, and show it before anything is changed."""
        state = self.app.state
        if state is None:
            return

        def work(progress: Progress) -> Trial:
            progress.tell("planning the console both ways")
            trial = try_out(state, edit)
            progress.tell("planned", 1.0)
            return trial

        self.app.push_screen(WorkDialog(label, work), partial(self._ask, label, edit, remarks))

    def _ask(self, label: str, edit: Edit, remarks: list[str], done: Done[Trial] | None) -> None:
        """Ask whether the changes are wanted, and make them then."""
        if done is None:
            self.say(f"{label}: not worked out, nothing changed")
            return
        if done.value is None:
            self.say(f"{label}: refused", *_reasons(done.error), bad=True)
            return

        def answered(yes: bool | None) -> None:
            if yes:
                self.app.edit(label, edit)
            else:
                self.say("nothing changed")

        self.app.push_screen(AskDialog(f"{label}?", [*remarks, *done.value.lines]), answered)


def _reasons(error: Exception | None) -> tuple[str, ...]:
    """Return why an edit was refused, the first few reasons of it."""
    if isinstance(error, JobFileError):
        return tuple(map(str, error.problems[:3]))
    return (str(error),)
