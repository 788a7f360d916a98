"""Measured figures beside their goals and beside what the wire alone takes, as lines of text."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Goal:
    """What a figure must not exceed."""

    words: str
    limit: float
    unit: str


QUIET = Goal("quiet scan", 60, "µs")
BOUNCING = Goal("scan with 20 contacts bouncing", 90, "µs")
ALL_AT_ONCE = Goal("scan with every contact changing", 400, "µs")
LATENCY = Goal("press latency beyond period and shift-out", 15, "µs")
RAM = Goal("RAM", 2 * 1024, "bytes")
FLASH = Goal("flash", 24 * 1024, "bytes")
PREDICTION = Goal("busy time against its prediction", 5, "%")
GOALS = (QUIET, BOUNCING, ALL_AT_ONCE, LATENCY, RAM, FLASH, PREDICTION)


@dataclass(frozen=True)
class Figure:
    """One measured figure; `wire` is what the wire alone takes, in the same unit."""

    what: str
    measured: float
    unit: str
    wire: float | None = None
    goal: Goal | None = None

    @property
    def verdict(self) -> str:
        """Whether the goal was reached, in words, and by how much it was missed; nothing without a goal."""
        if self.goal is None:
            return ""
        excess = self.measured - self.goal.limit
        return "reached" if excess <= 0 else f"missed by {_number(excess)} {self.unit}"


@dataclass(frozen=True)
class Section:
    """Figures under a heading."""

    heading: str
    figures: tuple[Figure, ...]


HEAD = ("", "measured", "wire alone", "x wire", "goal", "")


def table(sections: Sequence[Section]) -> str:
    """Return all figures as text, their columns in line, and at the end the goals that were missed."""
    rows = {figure: _cells(figure) for section in sections for figure in section.figures}
    widths = [max(map(len, column)) for column in zip(HEAD, *rows.values(), strict=True)]
    lines = [_line(HEAD, widths)]
    for section in sections:
        lines += ["", section.heading, *(_line(rows[figure], widths) for figure in section.figures)]
    return "\n".join([*lines, "", _summary(list(rows))])


def _cells(figure: Figure) -> tuple[str, ...]:
    return (
        f"  {figure.what}",
        f"{_number(figure.measured)} {figure.unit}",
        "" if figure.wire is None else f"{_number(figure.wire)} {figure.unit}",
        "" if figure.wire is None else f"{figure.measured / figure.wire:.2f}",
        "" if figure.goal is None else f"{_number(figure.goal.limit)} {figure.goal.unit}",
        figure.verdict,
    )


def _line(cells: Sequence[str], widths: Sequence[int]) -> str:
    what, *numbers, verdict = cells
    columns = [what.ljust(widths[0]), *(cell.rjust(width) for cell, width in zip(numbers, widths[1:], strict=False))]
    return "  ".join([*columns, verdict]).rstrip()


def _summary(figures: Sequence[Figure]) -> str:
    judged = [figure for figure in figures if figure.goal is not None]
    if not judged:
        return "no goals are set for these"
    missed = [f"{figure.what} ({figure.verdict})" for figure in judged if figure.verdict != "reached"]
    reached = f"goals reached: {len(judged) - len(missed)} of {len(judged)}"
    return "\n".join([reached, *(f"goal missed: {words}" for words in missed)])


def _number(value: float) -> str:
    return f"{value:.0f}" if value == int(value) else f"{value:.2f}"
