"""`retrofit board PORT bounce`: the bounce of a group while somebody plays it, and into the job file with it."""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import click

from retrofit.cli.arguments import job_file
from retrofit.cli.board_plan import BITS, contact_points, plan_on_board, point_names
from retrofit.cli.board_port import as_json, json_text, live_board, port_of_group, write, yes_isolated
from retrofit.cli.jobs import open_job
from retrofit.cli.names import known_name
from retrofit.cli.output import Exit, Stop, counted, data, raw_data, talk
from retrofit.cli.plans import planned
from retrofit.cli.reading import saved
from retrofit.cli.terminal import columns
from retrofit.firmware.link.board import LiveBoard
from retrofit.firmware.link.bounce_run import Bounce, Part, begin_parts, measured, play_until
from retrofit.plan.model import ConversionPlan
from retrofit.survey.save import edit_job, set_value

_LOOK_S = 0.3


@click.command(short_help="Measure the bounce of a group while somebody plays it.")
@job_file
@click.option("--group", required=True, help="The group to measure.")
@click.option("--strokes", type=click.IntRange(1, 255), default=20, show_default=True, help="Strokes of every contact.")
@click.option("--seconds", type=click.FloatRange(min=0), default=600, show_default=True, help="End each part after.")
@write
@yes_isolated
@as_json
@port_of_group
def bounce(port: str, /, file: Path, group: str, strokes: int, seconds: float, **given: bool) -> None:
    """Measure the bounce of every contact of a group while somebody plays them.

    Every contact is to be closed and opened --strokes times, slowly; where the board has too little memory for the
    whole group it is measured in parts.  A part ends when every contact had its strokes, after --seconds, or with
    Ctrl-C.  With --write the worst bounce and the fewest strokes go into the job file as the group's bounce.
    """
    plan = planned(open_job(file))
    known_name("group", group, [one.id for one in plan.groups])
    contacts = {number: point for number, point in contact_points(plan).items() if _group_of(plan, number) == group}
    lanes = [lane.index for lane in plan.layout.lanes if lane.group == group]
    if not contacts:
        raise Stop(Exit.USAGE, f"the group {group} has no contacts to measure")
    found: list[Bounce] = []
    with live_board(port, plan.job, given["yes_isolated"], command_s=None) as board:
        period_us = _period_us(plan_on_board(board, plan, file), group)
        for part in begin_parts(board, lanes, sorted(contacts), period_us):
            found += _play(board, part, contacts, strokes, seconds)
    played = [one for one in found if one.strokes]
    if given["as_json"]:
        raw_data(json_text([_bounce_content(one, contacts) for one in found]))
    else:
        _say_bounce(found, contacts, point_names(plan), period_us)
    if not played:
        raise Stop(Exit.PROBLEMS, f"no contact of {group} was closed and opened; nothing is measured")
    if given["write"]:
        _write_bounce(file, group, played)


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


def _say_bounce(found: list[Bounce], contacts: Mapping[int, str], words: Mapping[str, str], period_us: int) -> None:
    head = ("contact", "name", "strokes", "closing", "opening", "most edges", "spikes")
    rows = [
        (
            contacts[one.contact],
            words[contacts[one.contact]],
            str(one.strokes),
            _ms(one.press_us),
            _ms(one.release_us),
            str(one.edges_most),
            str(one.spikes),
        )
        for one in found
    ]
    for line in columns([head, *rows]):
        data(line)
    data(f"bounces are less than what is shown, which is known to one sample of {period_us} µs")


def _ms(time_us: int) -> str:
    return f"{time_us / 1000:g} ms"


def _bounce_content(one: Bounce, contacts: Mapping[int, str]) -> dict[str, Any]:
    return {
        "point": contacts[one.contact],
        "strokes": one.strokes,
        "closing_us": one.press_us,
        "opening_us": one.release_us,
        "most_edges": one.edges_most,
        "spikes": one.spikes,
        "closing_bins": list(one.captured.press.bins),
        "opening_bins": list(one.captured.release.bins),
    }


def _write_bounce(file: Path, group: str, played: list[Bounce]) -> None:
    worst = max(one.longest_us for one in played)
    fewest = min(one.strokes for one in played)

    def edit(document: Any) -> None:
        set_value(document, ("groups", group, "wiring", "bounce"), _ms(worst))
        set_value(document, ("groups", group, "wiring", "bounce_strokes"), fewest)

    saved(lambda: edit_job(file, edit))
    data(f"{file}: the bounce of {group} is {_ms(worst)}, the worst of {counted(fewest, 'stroke')} of each contact")
