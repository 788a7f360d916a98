"""`retrofit board PORT remap`: contacts that play in place of others, until the wiring is put right."""

from __future__ import annotations

import time
from pathlib import Path

import click

from retrofit.cli.arguments import job_file
from retrofit.cli.board_plan import contact_of, contact_points, plan_on_board
from retrofit.cli.board_port import as_json, json_text, live_board, port_of_group, yes_isolated
from retrofit.cli.jobs import open_job
from retrofit.cli.output import Exit, Stop, data, raw_data, talk
from retrofit.cli.plans import planned
from retrofit.firmware.link.answers import RemapRow
from retrofit.firmware.link.board import LiveBoard
from retrofit.firmware.link.words import Kind, Store

_KEEP_LOOKS = 100
_LOOK_S = 0.1
_STORE_WORDS = {
    Store.EMPTY: "nothing is kept over a restart",
    Store.KEPT: "kept over a restart",
    Store.DIFFERS: "not kept as it stands: a restart brings back what was kept",
    Store.WRITING: "being written",
    Store.FAILED: "the last write did not read back as it was written",
    None: "how it is kept is not known to this version of the program",
}
keep = click.option("--keep", is_flag=True, help="Keep the list over a restart, too.")


@click.group(short_help="Show or change contacts that play in place of others.")
def remap() -> None:
    """Show or change which contacts play in place of others.

    A contact in the list sends what was planned for the other: a stopgap while a wire is on the wrong terminal.  The
    papers do not know of it, and a board with another plan drops it.
    """


@remap.command()
@job_file
@yes_isolated
@as_json
@port_of_group
def show(port: str, file: Path, yes_isolated: bool, as_json: bool) -> None:
    """Show the contacts that play in place of others, by the names of FILE."""
    plan = planned(open_job(file))
    with live_board(port, plan.job, yes_isolated) as board:
        plan_on_board(board, plan, file)
        rows, store = rows_in_use(board)
    points = contact_points(plan)
    pairs = [(_named(points, row.contact), _named(points, row.plays)) for row in rows]
    if as_json:
        content = {
            "store": store.name.lower() if store else None,
            "rows": [dict(zip(_KEYS, pair, strict=True)) for pair in pairs],
        }
        raw_data(json_text(content))
        return
    for contact, plays in pairs:
        data(f"{contact} plays {plays}")
    count = "1 contact plays" if len(pairs) == 1 else f"{len(pairs) or 'no'} contacts play"
    data(f"{count} in place of others; {_STORE_WORDS[store]}")


_KEYS = ("contact", "plays")


def _named(points: dict[int, str], contact: int | None) -> str:
    return points.get(-1 if contact is None else contact, f"contact {contact}")


def rows_in_use(board: LiveBoard) -> tuple[tuple[RemapRow, ...], Store | None]:
    """Return the rows that are in use, and how they are kept."""
    if board.who.remap_rows == 0:
        raise Stop(Exit.PROBLEMS, "this board has no list of contacts that play in place of others")
    rows = [board.remap_row(row) for row in range(board.who.remap_rows)]
    return tuple(row for row in rows if row.contact is not None), rows[-1].store


@remap.command("set")
@job_file
@click.argument("contact", metavar="CONTACT")
@click.argument("plays", metavar="PLAYS")
@keep
@yes_isolated
@port_of_group
def set_row(port: str, file: Path, contact: str, plays: str, keep: bool, yes_isolated: bool) -> None:
    """Let CONTACT send what was planned for PLAYS, both being point ids of FILE; itself takes it off the list."""
    plan = planned(open_job(file))
    numbers = contact_of(plan, contact), contact_of(plan, plays)
    with live_board(port, plan.job, yes_isolated) as board:
        plan_on_board(board, plan, file)
        board.remap(*numbers)
        if keep:
            _keep(board)
    data(f"{contact} plays {plays}{'' if keep else ' until the next restart'}")


@remap.command()
@keep
@yes_isolated
@port_of_group
def clear(port: str, keep: bool, yes_isolated: bool) -> None:
    """Let every contact play what was planned for it."""
    with live_board(port, None, yes_isolated) as board:
        board.order(Kind.REMAP_CLEAR)
        if keep:
            _keep(board)
    data(f"every contact plays what was planned for it{'' if keep else ' until the next restart'}")


def _keep(board: LiveBoard) -> None:
    """Order the list to be kept, and wait until the board has it; end the command when it does not get there."""
    board.order(Kind.REMAP_KEEP)
    for _ in range(_KEEP_LOOKS):
        store = board.remap_row(0).store
        if store is not Store.WRITING:
            break
        time.sleep(_LOOK_S)
    if store not in (Store.KEPT, Store.EMPTY):
        raise Stop(Exit.PROBLEMS, f"the list is in use and is not kept: {_STORE_WORDS[store]}", "try --keep again")
    talk(f"the list is {_STORE_WORDS[store]}")
