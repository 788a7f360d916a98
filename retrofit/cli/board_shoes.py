"""`retrofit board PORT shoes`: the ends of the shoes as a live board reads them, and into the job file with them."""

from __future__ import annotations

import time
from pathlib import Path
from typing import Any

import click

from retrofit.cli.arguments import Duration, job_file
from retrofit.cli.asking import agreed
from retrofit.cli.board_plan import board_of, plan_on_board, shoe_points
from retrofit.cli.board_port import as_json, json_text, live_board, port_of_group, write, yes_isolated
from retrofit.cli.board_shoes_judge import refuse_unfit
from retrofit.cli.jobs import open_job
from retrofit.cli.output import Exit, Stop, counted, data, raw_data
from retrofit.cli.plans import planned
from retrofit.cli.reading import saved
from retrofit.firmware.link.shoe_ends import ShoeEnd, faults_counted, shoe_ends
from retrofit.firmware.shoe_rows import converter_bits
from retrofit.survey.save import edit_job, set_value


@click.command(short_help="Measure the ends of the shoes.")
@job_file
@click.option("--end", type=click.Choice(["closed", "open"]), help="The end at which every shoe stands now.")
@click.option("--seconds", type=Duration(0.1, 60), default=1.0, show_default=True, help="Look for so long.")
@write
@yes_isolated
@as_json
@port_of_group
def shoes(port: str, /, file: Path, end: str | None, seconds: float, **given: bool) -> None:
    """Measure where the shoes of a board read with the shoes closed, and open.

    On a terminal both ends are asked for in turn; with --end one is measured as the shoes stand.  With --write the
    readings go into the job file as parts of the converter's full scale.  Readings that a dead wire gives, too, that
    wander, or that lie too near to each other are no ends: the command says so and ends with 1.
    """
    plan = planned(open_job(file))
    names = shoe_points(plan)
    full_scale = 2 ** converter_bits(board_of(plan)) - 1
    found: list[ShoeEnd] = []
    faults = 0
    with live_board(port, plan.job, given["yes_isolated"], command_s=None) as board:
        plan_on_board(board, plan, file)
        for asked in (end,) if end else ("closed", "open"):
            if end is None and not agreed(f"do all shoes stand {asked} now?"):
                raise Stop(Exit.USAGE, "say where the shoes stand with --end closed or --end open")
            before = faults_counted(board)
            found += shoe_ends(board, names, asked, full_scale, lambda: time.sleep(seconds))
            faults += faults_counted(board) - before
    if given["as_json"]:
        raw_data(json_text([_end_content(one) for one in found]))
    else:
        for one in found:
            data(f"{one.point}: {one.end} at {one.reading:g} of full scale, {one.lowest} to {one.highest} counts")
    refuse_unfit(found, plan, faults)
    if given["write"]:
        _write_ends(file, found)


def _end_content(one: ShoeEnd) -> dict[str, Any]:
    return {
        "point": one.point,
        "end": one.end,
        "reading": one.reading,
        "lowest_counts": one.lowest,
        "highest_counts": one.highest,
        "steady": one.steady,
        "at_rail": one.at_rail,
    }


def _write_ends(file: Path, found: list[ShoeEnd]) -> None:
    def edit(document: Any) -> None:
        for one in found:
            group, _, shoe = one.point.partition(".")
            set_value(document, ("groups", group, "points", shoe, f"{one.end}_reading"), one.reading)

    saved(lambda: edit_job(file, edit))
    data(f"{file}: {counted(len(found), 'end')} of shoes written")
