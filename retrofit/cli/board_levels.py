"""`retrofit board PORT levels`: the level of every input as it is read, those that no point has included."""

from __future__ import annotations

import json
import time
from collections.abc import Container, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

import click

from retrofit.cli.arguments import FILE_PATH, Duration
from retrofit.cli.board_plan import BITS, contact_points, plan_on_board, point_names
from retrofit.cli.board_port import as_json, live_board, port_of_group, yes_isolated
from retrofit.cli.jobs import open_job
from retrofit.cli.output import data, raw_data, talk
from retrofit.cli.plans import planned
from retrofit.firmware.link.answers import LaneSeen
from retrofit.firmware.link.board import LiveBoard
from retrofit.plan.model import ConversionPlan
from retrofit.proving.learning.table import place_at

UNUSED = "unused"


@dataclass(frozen=True, slots=True)
class Level:
    """An input as it was read, seconds since the first look; its number is lane times eight plus bit."""

    at_s: float
    number: int
    high: bool


@dataclass(frozen=True, slots=True)
class Places:
    """What the board's inputs are called; without a job file they are only numbered, and which are used is unknown.

    An input whose point takes no part has that point, and is not used.
    """

    addresses: Mapping[int, str]
    points: Mapping[int, str]
    used: Container[int]
    names: Mapping[str, str]
    known: bool

    def address(self, number: int) -> str:
        """Return where an input is."""
        return self.addresses.get(number, f"lane {number // BITS} bit {number % BITS}")

    def words(self, number: int) -> str:
        """Return the point of an input and its name; nothing where it is not known."""
        point = self.points.get(number, "")
        unused = UNUSED if self.known and number not in self.used else ""
        return " ".join(filter(None, (unused, point, self.names.get(point))))


@click.command(short_help="Show the level of every input, unused ones too.")
@click.argument("file", metavar="[FILE]", type=FILE_PATH, required=False)
@click.option("--once", is_flag=True, help="Show how they stand now, and end.")
@click.option("--seconds", type=Duration(0), help="End after so long; without it, on Ctrl-C.")
@yes_isolated
@as_json
@port_of_group
def levels(port: str, /, file: Path | None, once: bool, seconds: float | None, **given: bool) -> None:
    """Show the level of every input as it is read, before any debounce, and then each change.

    With FILE by address and point; an input that no point has is called unused, and a wire that lies on it shows all
    the same.  A level that lasts for less than a look at all lanes, some hundredths of a second, may not be seen.
    """
    plan = planned(open_job(file)) if file is not None else None
    with live_board(port, plan.job if plan else None, given["yes_isolated"], command_s=None) as board:
        places = _places(board, plan, file)
        until_s = 0.0 if once else seconds
        if not once:
            talk("watching; Ctrl-C ends it" if seconds is None else f"watching for {seconds:g} s")
        for level in _levels(board, until_s):
            _say(level, places, given["as_json"])


def _places(board: LiveBoard, plan: ConversionPlan | None, file: Path | None) -> Places:
    if plan is None or file is None:
        return Places({}, {}, (), {}, known=False)
    held = plan_on_board(board, plan, file)
    addresses = {lane * BITS + bit: address for (lane, bit), address in place_at(held).items()}
    points = {
        lane.index * BITS + bit: point
        for lane in held.layout.lanes
        for bit, point in enumerate(lane.points)
        if point is not None
    }
    return Places(addresses, points, contact_points(held), point_names(plan), known=True)


def _levels(board: LiveBoard, until_s: float | None) -> Iterator[Level]:
    """Yield every input at the first look, and later those that changed; one look is taken whatever the time."""
    begun = time.monotonic()
    before: tuple[LaneSeen, ...] = ()
    while not before or until_s is None or time.monotonic() - begun < until_s:
        now = board.lanes()
        if not now:
            return
        yield from level_changes(before, now, round(time.monotonic() - begun, 3))
        before = now


def level_changes(before: tuple[LaneSeen, ...], now: tuple[LaneSeen, ...], at_s: float) -> Iterator[Level]:
    """Yield the inputs whose level changed between two looks; before the first look all of them are new."""
    for place, lane in enumerate(now):
        changed = lane.level ^ before[place].level if before else 0xFF
        for bit in range(BITS):
            if changed >> bit & 1:
                yield Level(at_s, lane.index * BITS + bit, bool(lane.level >> bit & 1))


def _say(level: Level, places: Places, as_json: bool) -> None:
    address, state = places.address(level.number), "high" if level.high else "low"
    if as_json:
        point = places.points.get(level.number)
        content = {
            "at_s": level.at_s,
            "address": address,
            "point": point,
            "name": places.names.get(point or "", ""),
            "used": level.number in places.used if places.known else None,
            "level": state,
        }
        raw_data(json.dumps(content, ensure_ascii=False) + "\n")
    else:
        data(f"{level.at_s:9.3f} s  {address}: {state:4}  {places.words(level.number)}".rstrip())
