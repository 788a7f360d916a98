"""The questions that begin a job: answers with what is wrong with them beside each."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, VerticalScroll
from textual.widgets import Footer, Input, Static

from retrofit.survey.atomic_write import SaveError, write_atomically
from retrofit.survey.instrument import MidiOut
from retrofit.survey.new_job import NewCompass, NewJob, answer_problems, new_job_text, parse_compass
from tui.dialogs.dialog import Dialog
from tui.widgets.words import plain_lines


@dataclass(frozen=True, slots=True)
class Question:
    """One field: its key in `NewJob`, its words, the answer it begins with, and what understands an answer."""

    key: str
    words: str
    first: str
    read: Callable[[str], Any]


def _compasses(answer: str) -> tuple[NewCompass, ...]:
    return tuple(parse_compass(part) for part in answer.replace(",", " ").split())


def _compass_or_none(answer: str) -> NewCompass | None:
    return None if answer.strip() in ("", "0") else parse_compass(answer)


def _number(answer: str) -> int:
    if not re.fullmatch(r" *[0-9]{1,9} *", answer):
        raise ValueError("a whole number is allowed")
    return int(answer)


def _yes(answer: str) -> bool:
    if answer not in ("yes", "no"):
        raise ValueError("yes or no is allowed")
    return answer == "yes"


def _outlet(answer: str) -> MidiOut:
    if answer not in list(MidiOut):
        raise ValueError(f"{', '.join(MidiOut)} are allowed")
    return MidiOut(answer)


QUESTIONS = (
    Question("name", "Name of the instrument", "", str),
    Question("manuals", "Manuals, lowest first: 61 61, 49@C3", "61 61", _compasses),
    Question("pedal", "Pedals, 0 for none", "32", _compass_or_none),
    Question("stops", "Tabs or drawknobs", "0", _number),
    Question("pistons", "Thumb pistons", "0", _number),
    Question("studs", "Toe studs", "0", _number),
    Question("shoes", "Expression shoes", "0", _number),
    Question("roller_stages", "Stages of a crescendo roller", "0", _number),
    Question("preserved", "Every original circuit stays: yes, no", "yes", _yes),
    Question("board", "Board: atmega2560, atmega32u4, rp2040", "atmega2560", str),
    Question("midi_out", "MIDI leaves by: din, usb, both", "din", _outlet),
)


class NewJobDialog(Dialog[Path]):
    """Asks, writes the file when everything is right, and closes with its path."""

    DEFAULT_CSS = """
    NewJobDialog Horizontal { height: 1; }
    NewJobDialog Horizontal Static { width: 40; }
    NewJobDialog Input, NewJobDialog Input:focus { border: none; height: 1; width: 1fr; padding: 0; }
    NewJobDialog Input:focus { text-style: underline; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "take", "Begin", id="take-answers", tooltip="Write the job when all is answered"),
    ]

    def compose(self) -> ComposeResult:
        """Show the questions, and what is wrong below them."""
        with VerticalScroll(id="box", can_focus=False) as box:
            box.border_title = "A new job"
            box.border_subtitle = "Enter: next, after the last: begin   Esc: give it up"
            with Horizontal():
                yield Static("Job file", markup=False)
                yield Input("console.toml", id="file")
            for question in QUESTIONS:
                with Horizontal():
                    yield Static(question.words, markup=False)
                    yield Input(question.first, id=question.key)
            yield Static(id="wrong", markup=False)
        yield Footer(show_command_palette=False)

    @on(Input.Changed)
    def _judge(self) -> None:
        self.query_one("#wrong", Static).update(plain_lines(self.wrong()[:4]))

    def wrong(self) -> list[str]:
        """Return what is wrong with the answers as they stand."""
        said = []
        answers: dict[str, Any] = {}
        for question in QUESTIONS:
            text = self.query_one(f"#{question.key}", Input).value
            try:
                answers[question.key] = question.read(text)
            except ValueError as error:
                said.append(f"{question.words}: {error}")
        path = self._path()
        if not path.name or path.exists():
            said.append(f"Job file: found {'a file of that name' if path.name else 'no name'}; a new name is needed")
        if len(answers) == len(QUESTIONS):
            said += [f"{p.key}: found {p.found}; allowed {p.allowed}" for p in answer_problems(NewJob(**answers))]
        return said

    @on(Input.Submitted)
    def _next(self, event: Input.Submitted) -> None:
        if event.input.id == QUESTIONS[-1].key:
            self.action_take()
        else:
            self.focus_next()

    def action_take(self) -> None:
        """Write the job, if nothing is wrong."""
        if self.wrong():
            self._judge()
            return
        answers = {q.key: q.read(self.query_one(f"#{q.key}", Input).value) for q in QUESTIONS}
        path = self._path()
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            write_atomically(path, new_job_text(NewJob(**answers)), None)
        except (OSError, SaveError) as error:
            self.query_one("#wrong", Static).update(plain_lines([str(error)]))
        else:
            self.dismiss(path)

    def _path(self) -> Path:
        return Path(self.query_one("#file", Input).value).expanduser()
