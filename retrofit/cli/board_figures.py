"""`retrofit board PORT pace` and `counters`: how long the board's scans take, and what it has counted."""

from __future__ import annotations

from typing import Any

import click

from retrofit.cli.board_plan import BITS
from retrofit.cli.board_port import as_json, json_text, live_board, port_of_group, yes_isolated
from retrofit.cli.output import data, raw_data
from retrofit.cli.terminal import columns
from retrofit.firmware.link.answers import Pace
from retrofit.firmware.link.words import Count, Kind

_MOST = 65_535
_WORDS = {
    Count.MOST_NOTES: "most notes that waited at once",
    Count.MOST_PISTONS: "most pistons that waited at once",
    Count.MOST_STOPS: "most stops that waited at once",
    Count.OVERFLOWED: "changes that met a full queue, and were made good",
    Count.SHOES_REPLACED: "shoe values replaced by newer ones before they were sent",
    Count.WATCHDOG_RESTARTS: "restarts by the watchdog since power-on",
    Count.USB_REFUSED: "USB packets that the computer did not take in time",
    Count.BAD_FRAMES: "frames of this link that came damaged",
    Count.MIDI_IN_ERRORS: "bytes of MIDI in that were no message",
    Count.BUS_FAILURES: "times that an expander did not answer",
    Count.BUS_LATE: "rounds of the expanders' bus that came late",
    Count.STORE_WRITES: "writes of the list of contacts in place of others",
    Count.SHOE_FAULTS: "times that a shoe read outside its ends: a broken or shorted wire",
    Count.STROBE_FAULTS: "strobes of the organ's own scanner that overlapped or were too short",
    Count.STROBE_SILENCES: "times that the organ's own scanner fell silent",
    Count.CHATTERS: "seconds in which a contact chattered without end",
    Count.CHATTERER: "the contact that did so last",
}


@click.command(short_help="Say what it has counted: queues, restarts, faults.")
@yes_isolated
@as_json
@port_of_group
def counters(port: str, yes_isolated: bool, as_json: bool) -> None:
    """Say what the board has counted since it started: full queues, replaced shoe values, restarts, faults."""
    with live_board(port, None, yes_isolated) as board:
        counts = board.counters()
    if as_json:
        raw_data(json_text({count.name.lower(): number for count, number in counts.items()}))
        return
    for line in columns([(_shown(count, number), _WORDS[count]) for count, number in counts.items()]):
        data(line)


def _shown(count: Count, number: int) -> str:
    return f"lane {number // BITS} bit {number % BITS}" if count is Count.CHATTERER else _number(number)


def _number(number: int) -> str:
    return f"{number} or more" if number == _MOST else str(number)


@click.command(short_help="Say how long its scans take.")
@click.option("--anew", is_flag=True, help="Begin anew with the figures after saying them.")
@yes_isolated
@as_json
@port_of_group
def pace(port: str, anew: bool, yes_isolated: bool, as_json: bool) -> None:
    """Say how long the work of a tick takes on the board: least, mean and most, and ticks that were late."""
    with live_board(port, None, yes_isolated) as board:
        found = board.pace()
        if anew:
            board.order(Kind.PACE_ANEW)
    if as_json:
        raw_data(json_text(_content(found)))
        return
    for line in columns(_rows(found)):
        data(line)


def _rows(pace: Pace) -> list[tuple[str, ...]]:
    figures = _content(pace)
    unknown = "not measured yet"
    rows = [(name, unknown if figures[f"{name}_us"] is None else f"{figures[f'{name}_us']:g} µs") for name in _FIGURES]
    return [("tick", f"{pace.tick_us} µs"), *rows, ("late", f"{_number(pace.late)} ticks that lasted into the next")]


_FIGURES = ("least", "mean", "most")


def _content(pace: Pace) -> dict[str, Any]:
    known = pace.least is not None and pace.scans > 0
    scale = max(pace.counts_per_us, 1)
    return {
        "tick_us": pace.tick_us,
        "least_us": round(pace.least / scale, 1) if pace.least is not None else None,
        "mean_us": round(pace.total / pace.scans / scale, 1) if known else None,
        "most_us": round(pace.most / scale, 1) if known else None,
        "late_ticks": pace.late,
        "ticks": pace.scans,
    }
