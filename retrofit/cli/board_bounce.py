"""`retrofit board PORT bounce`: the bounce of a group while somebody plays it, and into the job file with it."""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping
from pathlib import Path

import click

from retrofit.cli.arguments import Duration, job_file
from retrofit.cli.board_bounce_lines import bounce_content, bounce_lines
from retrofit.cli.board_bounce_write import refuse_unfit, write_bounce
from retrofit.cli.board_plan import BITS, contact_points, plan_on_board, point_names
from retrofit.cli.board_port import as_json, json_text, live_board, port_of_group, write, yes_isolated
from retrofit.cli.jobs import open_job
from retrofit.cli.names import known_name
from retrofit.cli.output import Exit, Stop, counted, data, raw_data, talk
from retrofit.cli.plans import planned
from retrofit.firmware.link.board import LiveBoard
from retrofit.firmware.link.bounce_run import Bounce, Part, begin_parts, measured, play_until
from retrofit.plan.model import ConversionPlan

_LOOK_S = 0.3


@click.command(short_help="Measure the bounce of a group while somebody plays it.")
@job_file
@click.option("--group", required=True, help="The group to measure.")
@click.option("--strokes", type=click.IntRange(1, 255), default=20, show_default=True, help="Strokes of every contact.")
@click.option("--seconds", type=Duration(0), default=600, show_default=True, help="End each part after.")
@write
@click.option("--replace", is_flag=True, help="Write also in place of a longer bounce, or one of more strokes.")
@yes_isolated
@as_json
@port_of_group
def bounce(port: str, /, file: Path, group: str, strokes: int, seconds: float, **given: bool) -> None:
    """Measure the bounce of every contact of a group while somebody plays them.

    Every contact is to be closed and opened --strokes times, slowly; where the board has too little memory for the
    whole group it is measured in parts.  A part ends when every contact had its strokes, after --seconds, or with
    Ctrl-C.  With --write the worst bounce and the fewest strokes go into the job file as the group's bounce, if every
    contact had its strokes; a longer bounce or one of more strokes that the file has stays, unless somebody agrees.
    """
    plan = planned(open_job(file))
    known_name("group", group, [one.id for one in plan.groups])
    contacts = {number: point for number, point in contact_points(plan).items() if _group_of(plan, number) == group}
    lanes = [lane.index for lane in plan.layout.lanes if lane.group == group]
    if not contacts:
        raise Stop(Exit.USAGE, f"the group {group} has no contacts to measure")
    found: list[Bounce] = []
    parts: list[Part] = []
    with live_board(port, plan.job, given["yes_isolated"], command_s=None) as board:
        period_us = _period_us(plan_on_board(board, plan, file), group)
        for part in begin_parts(board, lanes, sorted(contacts), period_us):
            parts.append(part)
            found += _play(board, part, contacts, strokes, seconds)
    if given["as_json"]:
        raw_data(json_text([bounce_content(one, contacts) for one in found]))
    else:
        for line in bounce_lines(found, parts, contacts, point_names(plan)):
            data(line)
    if not any(one.strokes for one in found):
        raise Stop(Exit.PROBLEMS, f"no contact of {group} was closed and opened; nothing is measured")
    if given["write"]:
        refuse_unfit(found, contacts, strokes)
        write_bounce(file, next(one for one in plan.job.groups if one.id == group), found, given["replace"])


def _period_us(plan: ConversionPlan, group: str) -> int:
    return next(one.period_us for one in plan.groups if one.id == group)


def _group_of(plan: ConversionPlan, contact: int) -> str:
    return plan.layout.lanes[contact // BITS].group


def _play(
    board: LiveBoard, part: Part, contacts: Mapping[int, str], strokes: int, seconds: float
) -> tuple[Bounce, ...]:
    first, last = contacts[part.contacts[0]], contacts[part.contacts[-1]]
    talk(
        f"close and open each contact from {first} to {last} {strokes} times, slowly, "
        f"{counted(len(part.contacts), 'contact')}; Ctrl-C ends this part"
    )
    try:
        return play_until(board, part, strokes, _teller(strokes, time.monotonic() + seconds))
    except KeyboardInterrupt:
        return measured(board, part)


def _teller(strokes: int, until: float) -> Callable[[Mapping[int, int]], bool]:
    """Return what says how many contacts had their strokes, waits a little, and answers whether to go on."""
    told = -1

    def goes_on(counts: Mapping[int, int]) -> bool:
        nonlocal told
        done = sum(count >= strokes for count in counts.values())
        if done != told:
            talk(f"{done} of {len(counts)} have had their strokes")
            told = done
        time.sleep(_LOOK_S)
        return time.monotonic() < until

    return goes_on
