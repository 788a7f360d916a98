"""Rules about what a board's pins bear."""

from __future__ import annotations

from collections.abc import Iterator

from retrofit.plan.facts import Facts
from retrofit.plan.model import Severity
from retrofit.plan.rules.rule import Rule, Said
from retrofit.survey.problems import shown

OVER = "pin_over_supply"
"""The figure of a board whose pins are known to bear no more than this above the supply."""


def _rail(facts: Facts) -> Iterator[Said]:
    rail, board = facts.job.wanted.rail_volts, facts.board
    if board is None or rail.value is None:
        return
    supply = board.figures["supply"]
    if not supply.least <= rail.value <= supply.greatest:
        yield Said(
            "wanted.rail_volts",
            f"registers and contacts of ours are to be fed with {shown(rail.raw)}",
            f"{supply.least:g} V to {supply.greatest:g} V, the supply of the {board.name}",
            f"feed them from the board's own {supply.usual:g} V and leave rail_volts out, or take a board of that "
            "supply; a chain on another supply needs level shifters in data, clock and load, which no plan works out",
        )


def _no_5_volts(facts: Facts) -> Iterator[Said]:
    board = facts.board
    if board is not None and OVER in board.figures:
        most = board.figures["supply"].usual + board.figures[OVER].greatest
        yield Said(
            "wanted.board",
            f"the pins of the {board.name} are not made for 5 V",
            f"at most {most:g} V on a pin",
            f"feed registers, expanders and pull-ups from the board's {board.figures['supply'].usual:g} V, never from "
            "its USB pin, and measure before the first wire goes on",
        )


RULES = (
    Rule(
        "rail-is-not-the-boards",
        "Registers and contacts are to be fed with other volts than the board",
        Severity.ERROR,
        "what is to feed registers and contacts of ours with the board's supply",
        _rail,
        locked=True,
        why=(
            "Every level is worked out for one supply. A register at 5 V drives 5 V into a 3.3 V pin and burns it, and "
            "does not hear a 3.3 V clock for certain."
        ),
        remedy="feed registers and contacts from the board's own supply",
    ),
    Rule(
        "pins-not-made-for-five-volts",
        "The board's pins are not made for 5 V",
        Severity.NOTE,
        "the most that a pin bears above the board's supply",
        _no_5_volts,
        why="A single 5 V line on such a pin can burn the chip, and nothing in the plan can see it happen.",
        remedy="feed everything of ours from the board's own supply",
    ),
)
