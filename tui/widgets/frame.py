"""What stands above and below every room: the instrument, the rooms, and one notice."""

from __future__ import annotations

from textual.widgets import Static

from retrofit.cli.output import counted
from tui.desk.state import DeskState
from tui.widgets.words import plain, plain_lines

ROOMS = {
    "start": "Start",
    "found": "Found",
    "sensing": "Sensing",
    "scan": "Scan",
    "messages": "Messages",
    "board": "Board",
    "proving": "Proving",
    "putback": "Putback",
}
"""The rooms in the order of the work; the key of each is its number, from 1."""


class TopLine(Static):
    """The instrument, the plan's digest, and whether everything is on disk."""

    DEFAULT_CSS = "TopLine { height: 1; text-style: bold; }"

    def __init__(self) -> None:
        super().__init__(markup=False)

    def show(self, state: DeskState | None) -> None:
        """Say it of a job, or that there is none."""
        self.update(plain("No job is open" if state is None else "   ".join(_facts(state))))


def _facts(state: DeskState) -> list[str]:
    facts = [state.title]
    if state.problems:
        facts.append(counted(len(state.problems), "problem"))
    if state.plan is not None:
        facts.append(f"plan {state.plan.digest}")
    facts.append("saved" if state.on_disk else "NOT SAVED")
    return facts


class RoomsLine(Static):
    """The rooms with their numbers; the one that is open stands in brackets."""

    DEFAULT_CSS = "RoomsLine { height: 1; }"

    def __init__(self, name: str) -> None:
        words = [
            f"[{n} {title}]" if room == name else f" {n} {title} " for n, (room, title) in enumerate(ROOMS.items(), 1)
        ]
        super().__init__(plain("".join(words)), markup=False)


class Notice(Static):
    """What just happened, or why something was refused; empty otherwise."""

    DEFAULT_CSS = """
    Notice { height: auto; max-height: 4; display: none; }
    Notice.bad { text-style: reverse; }
    """

    def __init__(self) -> None:
        super().__init__(markup=False, id="notice")

    def say(self, *lines: str, bad: bool = False) -> None:
        """Show these lines until the next notice; none at all takes the line away."""
        self.display = bool(lines)
        self.set_class(bad, "bad")
        self.update(plain_lines(list(lines)))
