"""`retrofit board`: asks a live board what it is, how its contacts stand, and what it has measured."""

from __future__ import annotations

import json

import click

from retrofit.cli import (
    board_bounce,
    board_compare,
    board_figures,
    board_levels,
    board_orders,
    board_remap,
    board_shoes,
    board_watch,
    board_who,
)
from retrofit.cli.board_group import BoardGroup
from retrofit.cli.output import Exit, Stop, data, raw_data, talk
from retrofit.cli.terminal import columns
from retrofit.firmware.link.serial_line import ports_seen


@click.group(cls=BoardGroup, invoke_without_command=True, subcommand_metavar="QUESTION [ARGS]...")
@click.argument("port", metavar="[PORT]", default="")
@click.option("--json", "as_json", is_flag=True, help="Without PORT: list the ports as JSON for other programs.")
@click.pass_context
def command(context: click.Context, port: str, as_json: bool) -> None:
    """Ask the board on the serial port PORT; without PORT, list the ports that there are.

    Opening a port may start the board anew, and the lead joins the computer's earth to the console.  Where original
    circuits stay, put an isolator into the lead or run the laptop on its battery: the command asks before it opens.
    """
    if context.invoked_subcommand is not None:
        context.obj = port
    elif port:
        known = ", ".join(sorted(command.commands))
        raise Stop(Exit.USAGE, f"say what to ask of {port}: {known}", "see: retrofit board --help")
    else:
        _list_ports(as_json)


def _list_ports(as_json: bool) -> None:
    ports = ports_seen()
    if as_json:
        raw_data(json.dumps([{"port": port.name, "description": port.description} for port in ports], indent=2) + "\n")
        return
    if not ports:
        talk("no serial port is there; plug the board in, and look at its lead")
    for line in columns([(port.name, port.description) for port in ports]) if ports else ():
        data(line)


for question in (
    board_who.who,
    board_compare.compare,
    board_compare.save,
    board_watch.watch,
    board_levels.levels,
    board_figures.pace,
    board_figures.counters,
    board_bounce.bounce,
    board_shoes.shoes,
    board_remap.remap,
    board_orders.panic,
    board_orders.state,
):
    command.add_command(question)
