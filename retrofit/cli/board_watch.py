"""`retrofit board PORT watch`: every contact and shoe as the board reads it, a line for each change."""

from __future__ import annotations

import json
import time
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

import click

from retrofit.cli.arguments import FILE_PATH, Duration
from retrofit.cli.board_plan import BITS, contact_points, plan_on_board, point_names, shoe_points
from retrofit.cli.board_port import as_json, live_board, port_of_group, yes_isolated
from retrofit.cli.jobs import open_job
from retrofit.cli.output import data, raw_data, talk
from retrofit.cli.plans import planned
from retrofit.firmware.link.answers import LaneSeen, ShoeSeen
from retrofit.firmware.link.board import LiveBoard
from retrofit.plan.model import ConversionPlan


@dataclass(frozen=True, slots=True)
class Change:
    """One thing that is not as it was: when, seconds since the watch began, what it is called, and how it is now."""

    at_s: float
    input: str
    name: str
    now: str


@dataclass(frozen=True, slots=True)
class Names:
    """What the board's numbers are called; without a job file they are only numbered."""

    contacts: Mapping[int, str]
    shoes: tuple[str, ...]
    words: Mapping[str, str]

    def contact(self, number: int) -> str:
        """Return what a contact is called."""
        return self.contacts.get(number, f"lane {number // BITS} bit {number % BITS}")

    def shoe(self, index: int) -> str:
        """Return what a shoe is called."""
        return self.shoes[index] if index < len(self.shoes) else f"shoe {index}"


@click.command(short_help="Show every contact and shoe as it changes.")
@click.argument("file", metavar="[FILE]", type=FILE_PATH, required=False)
@click.option("--seconds", type=Duration(0), help="End after so long; without it, on Ctrl-C.")
@yes_isolated
@as_json
@port_of_group
def watch(port: str, file: Path | None, seconds: float | None, yes_isolated: bool, as_json: bool) -> None:
    """Show every contact and shoe as it changes, debounced; with FILE by the names of its points.

    What is on at the beginning is shown first.  It runs until Ctrl-C, or for --seconds.
    """
    plan = planned(open_job(file)) if file is not None else None
    with live_board(port, plan.job if plan else None, yes_isolated, command_s=None) as board:
        names = _names(board, plan, file)
        talk("watching; Ctrl-C ends it" if seconds is None else f"watching for {seconds:g} s")
        for change in _changes(board, names, seconds):
            _say(change, as_json)


def _names(board: LiveBoard, plan: ConversionPlan | None, file: Path | None) -> Names:
    if plan is None or file is None:
        return Names({}, (), {})
    held = plan_on_board(board, plan, file)
    return Names(contact_points(held), shoe_points(held), point_names(plan))


def _changes(board: LiveBoard, names: Names, seconds: float | None) -> Iterator[Change]:
    begun = time.monotonic()
    lanes: tuple[LaneSeen, ...] = ()
    shoes: tuple[ShoeSeen, ...] = ()
    while seconds is None or time.monotonic() - begun < seconds:
        lanes_now, shoes_now = board.lanes(), board.shoes()
        at_s = round(time.monotonic() - begun, 3)
        for subject, now in (*lane_changes(lanes, lanes_now, names), *shoe_changes(shoes, shoes_now, names)):
            yield Change(at_s, subject, names.words.get(subject, ""), now)
        lanes, shoes = lanes_now, shoes_now


def lane_changes(before: tuple[LaneSeen, ...], now: tuple[LaneSeen, ...], names: Names) -> Iterator[tuple[str, str]]:
    """Yield the contacts that changed between two looks, with how they stand; before the first look all were off."""
    for place, lane in enumerate(now):
        earlier = before[place].on if place < len(before) else 0
        for bit in range(BITS):
            if (lane.on ^ earlier) >> bit & 1:
                on, held = lane.on >> bit & 1, lane.muted >> bit & 1
                state = "off" if not on else "on, held since the start" if held else "on"
                yield names.contact(lane.index * BITS + bit), state


def shoe_changes(before: tuple[ShoeSeen, ...], now: tuple[ShoeSeen, ...], names: Names) -> Iterator[tuple[str, str]]:
    """Yield the shoes whose value changed between two looks, with value and counts."""
    for place, shoe in enumerate(now):
        if shoe.value is not None and (place >= len(before) or before[place].value != shoe.value):
            counts = "" if shoe.counts is None else f", {shoe.counts} counts"
            yield names.shoe(shoe.index), f"value {shoe.value}{counts}"


def _say(change: Change, as_json: bool) -> None:
    if as_json:
        content = {"at_s": change.at_s, "input": change.input, "name": change.name, "now": change.now}
        raw_data(json.dumps(content, ensure_ascii=False) + "\n")
    else:
        data(f"{change.at_s:9.3f} s  {' '.join(filter(None, (change.input, change.name)))}: {change.now}")
