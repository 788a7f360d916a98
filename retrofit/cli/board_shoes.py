"""`retrofit board PORT shoes`: the ends of the shoes as a live board reads them, and into the job file with them."""

from __future__ import annotations

import time
from pathlib import Path
from typing import Any

import click

from retrofit.cli.arguments import job_file
from retrofit.cli.asking import agreed
from retrofit.cli.board_plan import board_of, plan_on_board, shoe_points
from retrofit.cli.board_port import as_json, json_text, live_board, port_of_group, write, yes_isolated
from retrofit.cli.jobs import open_job
from retrofit.cli.output import Exit, Stop, counted, data, raw_data
from retrofit.cli.plans import planned
from retrofit.cli.reading import saved
from retrofit.firmware.link.shoe_ends import ShoeEnd, shoe_ends
from retrofit.firmware.shoe_rows import converter_bits
from retrofit.survey.save import edit_job, set_value


@click.command(short_help="Measure the ends of the shoes.")
@job_file
@click.option("--end", type=click.Choice(["closed", "open"]), help="The end at which every shoe stands now.")
@click.option("--seconds", type=click.FloatRange(0.1, 60), default=1.0, show_default=True, help="Look for so long.")
@write
@yes_isolated
@as_json
@port_of_group
def shoes(port: str, /, file: Path, end: str | None, seconds: float, **given: bool) -> None:
    """Measure where the shoes of a board read with the shoes closed, and open.

    On a terminal both ends are asked for in turn; with --end one is measured as the shoes stand.  With --write the
    readings go into the job file as parts of the converter's full scale.
    """
    plan = planned(open_job(file))
    names = shoe_points(plan)
    full_scale = 2 ** converter_bits(board_of(plan)) - 1
    found: list[ShoeEnd] = []
    with live_board(port, plan.job, given["yes_isolated"], command_s=None) as board:
        plan_on_board(board, plan, file)
        for asked in (end,) if end else ("closed", "open"):
            if end is None and not agreed(f"do all shoes stand {asked} now?"):
                raise Stop(Exit.USAGE, "say where the shoes stand with --end closed or --end open")
            found += shoe_ends(board, names, asked, full_scale, lambda: time.sleep(seconds))
    if given["as_json"]:
        raw_data(json_text([_end_content(one) for one in found]))
    else:
        for one in found:
            data(f"{one.point}: {one.end} at {one.reading:g} of full scale, {one.lowest} to {one.highest} counts")
    _refuse_moving(found)
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
    }


def _refuse_moving(found: list[ShoeEnd]) -> None:
    if not found:
        raise Stop(Exit.PROBLEMS, "the board has no shoe on a converter; there is nothing to measure")
    moving = [one.point for one in found if not one.steady]
    if moving:
        raise Stop(
            Exit.PROBLEMS,
            f"not steady while it was looked at: {', '.join(moving)}; nothing is written",
            "hold the shoe still and measure again; if it stays so, look at its lead and clean its track",
        )


def _write_ends(file: Path, found: list[ShoeEnd]) -> None:
    def edit(document: Any) -> None:
        for one in found:
            group, _, shoe = one.point.partition(".")
            set_value(document, ("groups", group, "points", shoe, f"{one.end}_reading"), one.reading)

    saved(lambda: edit_job(file, edit))
    data(f"{file}: {counted(len(found), 'end')} of shoes written")
