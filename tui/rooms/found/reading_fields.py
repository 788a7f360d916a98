"""The answers of one step: a field each, what it is understood to mean, and the same in large figures."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from textual import on
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.events import DescendantFocus
from textual.message import Message
from textual.widgets import Digits, Input, Static

from retrofit.plan.guided_reading import Question, understood
from retrofit.survey.problems import RefusedValueError
from tui.widgets.words import plain, plain_lines

if TYPE_CHECKING:
    from tui.app import RetrofitApp

MOST = 2
"""No step asks for more."""
_LARGE = 12
"""Figures that fit beside each other in large type."""


class AnswerFields(Vertical):
    """The fields; Enter leads from one to the next, and from the last hands all of them on."""

    app: RetrofitApp
    DEFAULT_CSS = """
    AnswerFields { height: auto; }
    AnswerFields #fields { height: 3; }
    AnswerFields Input { width: 1fr; display: none; border: round $foreground 60%; }
    AnswerFields Input.asked { display: block; }
    AnswerFields Input:focus { border: double $foreground; border-title-style: bold; }
    AnswerFields #sense { height: 3; }
    AnswerFields #understood { width: 1fr; height: 3; padding: 0 1; }
    AnswerFields #large { width: auto; height: 3; padding: 0 1; text-style: bold; }
    """

    @dataclass
    class Given(Message):
        """Every answer, as typed."""

        answers: Mapping[str, str]

    def __init__(self) -> None:
        super().__init__()
        self.questions: Sequence[Question] = ()
        self.keys: Mapping[str, str] = {}

    def compose(self) -> ComposeResult:
        """Yield as many fields as a step can want."""
        with Horizontal(id="fields"):
            for number in range(MOST):
                yield Input(id=f"field-{number}")
        with Horizontal(id="sense"):
            yield Static(id="understood", markup=False)
            yield Digits(id="large")

    def ask(self, questions: Sequence[Question], keys: Mapping[str, str], texts: Mapping[str, str]) -> None:
        """Show the fields of a step; `keys` name its drafts, and `texts` are what is typed already."""
        self.questions, self.keys = questions, keys
        for number in range(MOST):
            question = questions[number] if number < len(questions) else None
            field = self._field(number)
            field.set_class(question is not None, "asked")
            field.border_title = "" if question is None else plain(question.words)
            field.value = "" if question is None else texts.get(question.name, "")
        if questions:
            self._field(0).focus()
        self._show(0)

    def wait(self) -> None:
        """Clear the fields while an answer is written; what is typed meanwhile is the beginning of the next."""
        self.questions, self.keys = (), {}
        for number in range(MOST):
            self._field(number).set_class(number == 0, "asked")
            self._field(number).value = ""
        self._field(0).border_title = "writing …"
        self._field(0).focus()
        self._show(0)

    @property
    def ahead(self) -> str:
        """What was typed while nothing was asked."""
        return "" if self.questions else self._field(0).value

    def go(self, by: int) -> None:
        """Put the keys into the field before or after."""
        number = self._current() + by
        if 0 <= number < len(self.questions):
            self._field(number).focus()

    def _field(self, number: int) -> Input:
        return self.query_one(f"#field-{number}", Input)

    def _current(self) -> int:
        return next((number for number in range(MOST) if self._field(number).has_focus), 0)

    @on(Input.Changed)
    def _keep(self, event: Input.Changed) -> None:
        number = _number(event.input)
        if number >= len(self.questions):
            return
        key = self.keys.get(self.questions[number].name)
        if key is not None:
            self.app.draft(key, event.value or None)
        if self._current() == number:
            self._show(number)

    def on_descendant_focus(self, event: DescendantFocus) -> None:
        """Say what the field under the cursor is understood to mean."""
        if isinstance(event.widget, Input):
            self._show(_number(event.widget))

    @on(Input.Submitted)
    def _enter(self, event: Input.Submitted) -> None:
        number = _number(event.input)
        if number >= len(self.questions) or _refusal(self.questions[number], event.value):
            return
        if number + 1 < len(self.questions):
            self._field(number + 1).focus()
            return
        texts = {question.name: self._field(place).value for place, question in enumerate(self.questions)}
        wrong = next((n for n, q in enumerate(self.questions) if _refusal(q, texts[q.name])), None)
        if wrong is None:
            self.post_message(self.Given(texts))
        else:
            self._field(wrong).focus()

    def _show(self, number: int) -> None:
        """Show what one field is understood to mean, and its figures in large type."""
        asked = number < len(self.questions)
        text = self._field(number).value if asked else ""
        self.query_one("#large", Digits).update(text if text.isprintable() and len(text) <= _LARGE else "")
        self.query_one("#large").display = asked
        self.query_one("#understood", Static).update(
            plain_lines([_meaning(self.questions[number], text)] if asked else [])
        )


_HOW = "As the meter shows it: 12,4 V, -3, 4k7, OL, wanders.  Empty leaves it out, Ctrl+N skips the step."


def _number(field: Input) -> int:
    return int((field.id or "field-0").removeprefix("field-"))


def _meaning(question: Question, text: str) -> str:
    refused = _refusal(question, text)
    if refused:
        return refused
    return f"understood: {understood(question, text)}" if text.strip() else _HOW


def _refusal(question: Question, text: str) -> str:
    try:
        understood(question, text)
    except RefusedValueError as error:
        return str(error)
    return ""
