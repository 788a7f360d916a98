"""`retrofit board PORT who`: what the board says of itself."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import click

from retrofit.cli.board_port import as_json, json_text, live_board, port_of_group, yes_isolated
from retrofit.cli.output import counted, data, raw_data
from retrofit.cli.terminal import columns
from retrofit.firmware.escape import read_back
from retrofit.firmware.link.answers import Who
from retrofit.firmware.link.board import LiveBoard
from retrofit.firmware.link.words import Flag, Text

_CAUSES = ("power-on", "a reset from outside", "a supply that sagged", "the watchdog")
_OUTLETS = ("DIN", "USB")


@dataclass(frozen=True, slots=True)
class Identity:
    """The job that a board holds, by its own words."""

    name: str
    digest: str
    revision: str


def identity_of(board: LiveBoard) -> Identity:
    """Ask a board for the name, digest and revision of its job, the name as the job file has it."""
    return Identity(read_back(board.text(Text.JOB_NAME)), board.text(Text.JOB_DIGEST), board.text(Text.JOB_REVISION))


@click.command(short_help="Say what the board is: job, digest, restarts, memory.")
@yes_isolated
@as_json
@port_of_group
def who(port: str, yes_isolated: bool, as_json: bool) -> None:
    """Say the board's job, digest and revision, why it started last, and what memory is free.

    The digest names what the board does, and stands on every paper of the same plan; the revision names the job with
    all its remarks.
    """
    with live_board(port, None, yes_isolated) as board:
        identity = identity_of(board)
    if as_json:
        raw_data(json_text(_content(identity, board.who)))
        return
    for line in columns(_rows(identity, board.who)):
        data(line)


def _rows(identity: Identity, who: Who) -> list[tuple[str, ...]]:
    kept = f"a job description of {who.description_bytes} bytes" if who.description_bytes else "no job description"
    reads = (
        f"{counted(who.lanes, 'lane')} of eight contacts, {counted(who.groups, 'group')}, {counted(who.shoes, 'shoe')}"
    )
    return [
        ("job", identity.name),
        ("digest", identity.digest),
        ("revision", identity.revision),
        ("board", f"{who.chip.name.lower()}, table format {who.table_format}, MIDI by {_named(_OUTLETS, who.outlets)}"),
        ("reads", f"{reads}; a tick is {who.tick_us} µs"),
        ("keeps", kept),
        ("started by", restart_words(who.restart_cause)),
        ("restarts", f"{who.watchdog_restarts} by the watchdog since power-on"),
        ("runs for", duration_words(who.uptime_s)),
        ("free", f"{who.free_bytes} bytes of memory never used"),
        ("in place", _in_place(who)),
    ]


def _in_place(who: Who) -> str:
    if who.remap_rows == 0:
        return "this board has no list of contacts that play in place of others"
    used = f"{who.remap_rows_used} of {who.remap_rows} contacts play in place of others"
    return f"{used}; a list kept for another job is not used" if Flag.FOREIGN in who.flags else used


def restart_words(cause: int) -> str:
    """Return why a board started; a boot loader may have hidden it."""
    return _named(_CAUSES, cause) if cause else "unknown (a boot loader may have hidden it)"


def _named(words: tuple[str, ...], bits: int) -> str:
    return " and ".join(word for bit, word in enumerate(words) if bits >> bit & 1) or "none"


def duration_words(seconds: int) -> str:
    """Return a duration in days, hours, minutes and seconds, the largest two of them that count."""
    days, rest = divmod(seconds, 86_400)
    hours, rest = divmod(rest, 3_600)
    minutes, rest = divmod(rest, 60)
    parts = [(days, "d"), (hours, "h"), (minutes, "min"), (rest, "s")]
    first = next((place for place, (number, _) in enumerate(parts) if number), len(parts) - 1)
    return " ".join(f"{number} {unit}" for number, unit in parts[first : first + 2])


def _content(identity: Identity, who: Who) -> dict[str, Any]:
    return {
        "job": identity.name,
        "digest": identity.digest,
        "revision": identity.revision,
        "board": who.chip.name.lower(),
        "table_format": who.table_format,
        "outlets": [word for bit, word in enumerate(_OUTLETS) if who.outlets >> bit & 1],
        "lanes": who.lanes,
        "groups": who.groups,
        "shoes": who.shoes,
        "tick_us": who.tick_us,
        "description_bytes": who.description_bytes,
        "restart_causes": [word for bit, word in enumerate(_CAUSES) if who.restart_cause >> bit & 1],
        "watchdog_restarts": who.watchdog_restarts,
        "uptime_s": who.uptime_s,
        "free_bytes": who.free_bytes,
        "remap_rows": who.remap_rows,
        "remap_rows_used": who.remap_rows_used,
        "capture_lanes": who.capture_lanes,
    }
