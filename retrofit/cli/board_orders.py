"""`retrofit board PORT panic` and `state`: what a board is told to send."""

from __future__ import annotations

import click

from retrofit.cli.board_port import live_board, port_of_group, yes_isolated
from retrofit.cli.output import data
from retrofit.firmware.link.words import Kind


@click.command(short_help="Let it silence whatever sounds.")
@yes_isolated
@port_of_group
def panic(port: str, yes_isolated: bool) -> None:
    """Let the board silence whatever it may have left sounding."""
    with live_board(port, None, yes_isolated) as board:
        board.order(Kind.PANIC)
    data("the board silences everything")


@click.command(short_help="Let it say again how stops and shoes stand.")
@yes_isolated
@port_of_group
def state(port: str, yes_isolated: bool) -> None:
    """Let the board say again, by MIDI, how stops and shoes stand."""
    with live_board(port, None, yes_isolated) as board:
        board.order(Kind.REPORT)
    data("the board says again how its stops and shoes stand")
