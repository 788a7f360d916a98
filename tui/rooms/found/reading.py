"""The guided reading: one line after the other at the bench, one question after the other for each."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from typing import ClassVar

from textual import on
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.widget import Widget
from textual.widgets import DataTable, Static

from retrofit.cli.reading_answer import CAUTION
from retrofit.plan.guided_reading import Signed
from tui.desk.bench import Asked, Bench, asked, draft_key, edit_of, group_of, label_of, lines_of, partly, unsafe
from tui.desk.state import DeskState
from tui.dialogs.ask_text import AskTextDialog
from tui.rooms.found.reading_fields import AnswerFields
from tui.rooms.room import Room
from tui.widgets.pane import Pane, Said
from tui.widgets.rows import Rows
from tui.widgets.words import plain_lines

_LABEL = 12


class ReadingScreen(Room):
    """Reads the lines of one group: first a line is chosen, then what is asked of it is typed until nothing is left."""

    NAME: ClassVar[str] = "found"
    AUTO_FOCUS = "#lines"
    DEFAULT_CSS = """
    ReadingScreen #choosing, ReadingScreen #asking { height: 1fr; }
    ReadingScreen #asking { display: none; }
    ReadingScreen #cautions { height: auto; padding: 0 1; }
    ReadingScreen #hands { height: auto; padding: 0 1; text-style: bold; margin-bottom: 1; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+n", "skip", "Skip", id="reading-skip", tooltip="Leave this reading out and ask for the next"),
        Binding("escape", "leave", "Stop", id="reading-stop", tooltip="Stop here; everything that was typed is kept"),
        Binding("up", "field(-1)", "Field before", show=False, id="reading-up", tooltip="Go to the answer before"),
        Binding("down", "field(1)", "Next field", show=False, id="reading-down", tooltip="Go to the next answer"),
    ]

    def __init__(self, group: str) -> None:
        super().__init__()
        self.group = group
        self.bench: Bench | None = None
        self.asked: Asked | None = None
        self._sent: Mapping[str, str] | None = None

    def compose_body(self) -> Iterable[Widget]:
        """Yield the list of lines with the cautions, and what is asked of one line."""
        with Vertical(id="choosing"):
            yield Static(id="cautions", markup=False)
            yield Rows("line", "what", "readings", title=f"Lines of {self.group}: Enter reads one", id="lines")
        with Vertical(id="asking"):
            yield Static(id="hands", markup=False)
            yield AnswerFields()
            yield Pane("What the readings say", id="found")

    def show_job(self, state: DeskState) -> None:
        """Show the lines, and go on with the one that is being read."""
        group = None if state.job is None else group_of(state.job, self.group)
        if state.job is None or group is None:
            self.dismiss()
            return
        steps = unsafe(state.job)
        signed = ["Make-safe: every step is signed."] if not steps else ["Nobody has signed yet:"]
        self.query_one("#cautions", Static).update(
            plain_lines([CAUTION, *signed, *(f"  - {words}" for words in steps), "Local codes go before all of this."])
        )
        self.query_one("#lines", Rows).fill(lines_of(group))
        if self.bench is not None:
            self._ask(state)

    def _ask(self, state: DeskState) -> None:
        """Show what is asked now; what was refused, and what is typed meanwhile, stays in the fields."""
        group = None if state.job is None else group_of(state.job, self.group)
        if self.bench is None or state.job is None or group is None:
            return
        before, now = self.asked, asked(state.job, group, self.bench)
        sent, self._sent = self._sent, None
        written = before is not None and before.taken != now.taken
        if sent is not None and written and before is not None and before.step is not None:
            self._forget(before)
            if partly(sent):
                self.bench = self.bench.skipping(before.step)
                now = asked(state.job, group, self.bench)
        self.asked = now
        self.query_one("#hands", Static).update(plain_lines(_orders(now, self.bench)))
        self.query_one("#found", Pane).tell([_said(label, words) for label, words in now.found])
        if sent is not None or before is None or before.step != now.step:
            self._show_fields(now, {} if written else sent or {})

    def _show_fields(self, now: Asked, texts: Mapping[str, str]) -> None:
        fields, keys = self._answers, self._keys(now)
        kept = {name: self._kept(key) for name, key in keys.items()}
        if now.questions and fields.ahead:
            kept[now.questions[0].name] = fields.ahead
        fields.ask(now.questions, keys, {**kept, **texts})
        if now.step is None:
            self.query_one("#found").focus()

    def _keys(self, now: Asked) -> dict[str, str]:
        """Return under which key each answer that is being typed is kept, by its name."""
        bench, step = self.bench, now.step
        if bench is None or step is None:
            return {}
        return {question.name: draft_key(bench, step, question) for question in now.questions}

    def _kept(self, key: str) -> str:
        return (self.app.drafts.get(key) if self.app.drafts is not None else None) or ""

    def _forget(self, now: Asked) -> None:
        """Drop what is kept of the answers, because they are written or were given up."""
        for key in self._keys(now).values():
            self.app.draft(key, None)

    @property
    def _answers(self) -> AnswerFields:
        return self.query_one(AnswerFields)

    @on(DataTable.RowSelected, "#lines")
    def _choose(self) -> None:
        line = self.query_one("#lines", Rows).current
        state = self.app.state
        if line is None or state is None or state.job is None:
            return
        if self.bench is not None:
            self._begin(line, self.bench.signed.initials)
            return
        asking = AskTextDialog(
            "Who reads?", ["Your initials stand beside every reading."], _last(state, self.group), _why
        )
        self.app.push_screen(asking, lambda initials: self._begin(line, initials.strip()) if initials else None)

    def _begin(self, line: str, initials: str) -> None:
        """Read a line; steps that were skipped are asked for again."""
        self.bench = Bench(Signed(self.group, line, date.today(), initials))  # the day is the bench's own
        self.asked = None
        self._show_half("asking")
        if self.app.state is not None:
            self._ask(self.app.state)

    def _show_half(self, name: str) -> None:
        for half in ("choosing", "asking"):
            self.query_one(f"#{half}").display = half == name

    @on(AnswerFields.Given)
    def _write(self, event: AnswerFields.Given) -> None:
        bench, now = self.bench, self.asked
        if bench is None or now is None or now.step is None or self._sent is not None:
            return
        edit = edit_of(bench, now.step, event.answers)
        if edit is None:
            self.action_skip()
            return
        self._sent = event.answers
        self._answers.wait()
        self.app.edit(label_of(bench, now.step, event.answers), edit)

    def action_skip(self) -> None:
        """Go on without this reading."""
        state = self.app.state
        if (
            self.bench is None
            or self.asked is None
            or self.asked.step is None
            or state is None
            or self._sent is not None
        ):
            self.say("there is nothing to skip")
            return
        self._forget(self.asked)
        self.say(f"skipped: {self.asked.step.words}")
        self.bench = self.bench.skipping(self.asked.step)
        self._ask(state)

    def action_field(self, by: int) -> None:
        """Go to the answer before or after."""
        self._answers.go(by)

    def action_leave(self) -> None:
        """Go back from a line to the list, and from the list to the room."""
        if self.query_one("#asking").display:
            self._show_half("choosing")
            self.asked = None
            self.query_one("#lines").focus()
        else:
            self.dismiss()


def _orders(now: Asked, bench: Bench) -> list[str]:
    if now.step is None:
        left_out = [f"Left out: {step.words}." for step in bench.skipped[-3:]]
        again = ["Esc and Enter ask for it again."] if left_out else []
        back = "Esc goes back to the list; Ctrl+Z takes the last reading back."
        return ["Nothing more is asked of this line.", *left_out, *again, back]
    first = ["What was read is impossible: read it again.  The later reading counts, the earlier one stays."]
    return [*(first if now.again else []), *now.hands]


def _said(label: str, words: str) -> Said:
    return Said(words, f"{label:<{_LABEL}} ", " " * (_LABEL + 1))


def _last(state: DeskState, group: str) -> str:
    """Return the initials beside the last reading of the group, which is likely the same hand."""
    found = None if state.job is None else group_of(state.job, group)
    readings = found.wiring.readings if found is not None else ()
    return readings[-1].initials if readings else ""


def _why(initials: str) -> str:
    """Return why initials are refused."""
    return "" if 1 <= len(initials.strip()) <= 8 else "one to eight letters, e.g. QT"
