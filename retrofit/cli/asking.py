"""Questions on a terminal: every answer is looked at where it is given, and asked for again there."""

from __future__ import annotations

import sys
from collections.abc import Callable
from typing import Any

import click

_ANSWERS = {"y": True, "yes": True, "n": False, "no": False}


def ask(question: str, default: str | None = None, understood: Callable[[str], Any] = str) -> Any:
    """Ask until `understood` accepts the answer and return what it made of it; it refuses by a `click.UsageError`."""
    return click.prompt(question, default=default, value_proc=understood, err=True)


def ask_yes_or_no(question: str, default: bool) -> bool:
    """Ask until the answer is y, yes, n or no, in any case."""
    return bool(ask(f"{question} (y/n)", "yes" if default else "no", _yes_or_no))


def agreed(question: str) -> bool:
    """Return whether somebody at a terminal agrees; where nobody can be asked the answer is no."""
    return sys.stdin.isatty() and ask_yes_or_no(question, default=False)


def _yes_or_no(answer: str) -> bool:
    word = answer.strip().casefold()
    if word not in _ANSWERS:
        raise click.UsageError(f"{answer.strip()!r} is neither yes nor no; answer y, yes, n or no")
    return _ANSWERS[word]
