"""The room Proving: contacts live, and a rehearsal before any wire is touched."""

from __future__ import annotations

from collections.abc import Iterable
from contextlib import AbstractContextManager
from typing import ClassVar

from textual import on
from textual.binding import Binding, BindingType
from textual.widget import Widget
from textual.widgets import Static

from retrofit.catalogue.load import load_catalogue
from retrofit.cli.rehearse_console import on_stage
from retrofit.cli.rehearse_run import Playing, Rehearsed, rehearsal_lines, rehearsed
from retrofit.plan.model import ConversionPlan
from retrofit.proving.expected import Expected, expected_of
from retrofit.proving.ports.midi_in import MidiInput
from retrofit.proving.ports.system import PortsSeen, look_once
from retrofit.proving.sources import Source
from retrofit.rehearsal.standin.faults.grammar import KINDS
from retrofit.rehearsal.standin.faults.names import FaultError
from retrofit.rehearsal.standin.stand_ins import Setup, stand_in
from tui.desk.state import DeskState
from tui.dialogs.ask_text import AskTextDialog
from tui.dialogs.work import Done, Progress, WorkDialog
from tui.rooms.proving.hearing import LEGEND, Heard, Hearing, Silent
from tui.rooms.room import Room
from tui.widgets.cell_grid import CellGrid, CellRow
from tui.widgets.page import Page
from tui.widgets.words import plain_lines

_SEED = 1


class ProvingRoom(Room):
    """The cells of all groups, what is heard, and the outcome of a rehearsal."""

    NAME: ClassVar[str] = "proving"
    DEFAULT_CSS = """
    ProvingRoom #counts, ProvingRoom #legend { height: 1; padding: 0 1; }
    ProvingRoom Page { height: 7; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("l", "listen", "Listen", id="listen", tooltip="Show contacts live from a MIDI input"),
        Binding("s", "silence", "Stop", id="stop-listening", tooltip="Stop listening; the counts stay"),
        Binding("r", "rehearse", "Rehearse", id="rehearse", tooltip="Prove a stand-in console with faults put in"),
        Binding("a", "faults", "Faults", id="list-faults", tooltip="List the faults that can be put in"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._expected: Expected | None = None
        self._hearing: Hearing | None = None

    def compose_body(self) -> Iterable[Widget]:
        """Yield the cells, their legend, the counts, and a page for outcomes."""
        yield CellGrid("Contacts", id="contacts")
        yield Static(LEGEND, id="legend", markup=False)
        yield Static("l listens to a MIDI input, r rehearses on a stand-in console", id="counts", markup=False)
        yield Page("Outcome", id="outcome")

    def show_job(self, state: DeskState) -> None:
        """Show the contacts that the plan expects."""
        if state.plan is None:
            return
        self._end_hearing()
        self._expected = expected_of(state.plan)
        letters: dict[str, str] = {}
        for point in self._expected.contacts:
            letters[point.group] = letters.get(point.group, "") + ("." if point.excuse is None else "-")
        self.query_one(CellGrid).fill([CellRow(group, group, cells) for group, cells in letters.items()])

    def action_listen(self) -> None:
        """Look for MIDI inputs, ask for one if there are several, and listen to it."""

        def looked(done: Done[PortsSeen] | None) -> None:
            if done is None or done.value is None:
                self.say("no port was looked for" if done is None else str(done.error), bad=True)
                return
            names = [port.name for port in done.value.inputs]
            if not names:
                self.say("there is no MIDI input; connect the board, or r rehearses without one", bad=True)
            elif len(names) == 1:
                self._hear(names[0])
            else:
                self.app.push_screen(AskTextDialog("MIDI input", ["Name, or a part of it:", *names]), self._hear)

        self.app.push_screen(WorkDialog("Looking for MIDI inputs", lambda _: look_once()), looked)

    def action_silence(self) -> None:
        """Stop listening."""
        self._end_hearing()

    def action_faults(self) -> None:
        """Show the faults that can be put in, with their forms."""
        self.query_one(Page).show([f"{kind.form}: {kind.what}" for kind in KINDS])

    def action_rehearse(self) -> None:
        """Ask for a fault, and prove a stand-in console that has it."""
        if self.app.state is not None and self.app.state.plan is not None:
            lines = [
                "Every division is proven on a stand-in console by a pretended player.",
                "A fault to put in, none for a sound console; a lists them all. For example:",
                *(kind.form for kind in KINDS[:6]),
            ]
            self.app.push_screen(AskTextDialog("Rehearse", lines), self._rehearse)

    def _rehearse(self, answer: str | None) -> None:
        state = self.app.state
        if answer is None or state is None or state.plan is None:
            return
        plan, faults = state.plan, (answer.strip(),) if answer.strip() else ()
        dialog = WorkDialog("Rehearsal on a stand-in console", lambda progress: _rehearsal(plan, faults, progress))
        self.app.push_screen(dialog, lambda done: self._rehearsed(faults, done))

    def _rehearsed(self, faults: tuple[str, ...], done: Done[list[Rehearsed]] | None) -> None:
        if done is None:
            self.say("the rehearsal was cancelled")
        elif isinstance(done.error, FaultError):
            self.say(str(done.error), "r asks again; a lists the faults that can be put in", bad=True)
        elif done.value is None:
            self.say(str(done.error), bad=True)
        else:
            put_in = [f"put in: {fault}" for fault in faults]
            self.query_one(Page).show([*put_in, *(line for one in done.value for line in rehearsal_lines(one))])
            self.query_one(Page).focus()

    def _hear(self, name: str | None) -> None:
        if name:
            self.listen_to(MidiInput(name))

    def listen_to(self, source: AbstractContextManager[Source]) -> Hearing:
        """Listen to a source in place of any other.  Raises `ValueError` while no job is shown."""
        if self._expected is None:
            raise ValueError("no job is shown, so nothing is expected")
        self._end_hearing()
        self._hearing = Hearing(self._expected, source, self.post_message)
        self._hearing.begin()
        return self._hearing

    def _end_hearing(self) -> None:
        if self._hearing is not None:
            self._hearing.end()
            self._hearing = None

    def on_unmount(self) -> None:
        """Let the port go."""
        self._end_hearing()

    @on(Heard)
    def _show(self, event: Heard) -> None:
        now = event.snapshot
        for group, letters in now.letters.items():
            self.query_one(CellGrid).show_letters(group, letters)
        away = ", AWAY, waiting for it to come back" if now.away else ""
        lost = f", {now.lost} lost" if now.lost else ""
        words = f"{now.source}{away}: {now.messages} messages, {now.strays} of no point{lost}   {now.last}"
        self.query_one("#counts", Static).update(plain_lines([words]))

    @on(Silent)
    def _silent(self, event: Silent) -> None:
        if event.why:
            self.say(event.why, bad=True)


def _rehearsal(plan: ConversionPlan, faults: tuple[str, ...], progress: Progress) -> list[Rehearsed]:
    """Prove every division of a stand-in console, one after the other."""
    divisions = [division.id for division in plan.job.divisions]
    console = stand_in(plan, load_catalogue(), Setup(faults, _SEED))
    outcomes = []
    with on_stage(console, fast=True, ports=False) as stage:
        for number, division in enumerate(divisions):
            progress.tell(f"proving {division} …", number / len(divisions))
            outcomes.append(rehearsed(plan, division, stage, Playing("slow", _SEED, 0.0)))
    return outcomes
