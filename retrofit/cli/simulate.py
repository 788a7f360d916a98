"""`retrofit simulate`: plays the console in numbers."""

from __future__ import annotations

import signal
import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

import click

from retrofit.cli.arguments import FILE_PATH, Duration, job_file
from retrofit.cli.jobs import open_job
from retrofit.cli.output import Exit, Stop, data, raw_data, talk
from retrofit.cli.plans import planned
from retrofit.cli.simulate_json import simulation_json
from retrofit.cli.terminal import columns, folded, shown
from retrofit.plan.model import ConversionPlan
from retrofit.rehearsal.bounce import RecordedBounce
from retrofit.rehearsal.from_plan import LeftOut, simulated_groups
from retrofit.rehearsal.recorded import RecordingError, parse_recorded
from retrofit.rehearsal.simulation import GroupResult, Result, Spread, simulate

LONGEST_S = 86_400
_seconds = Duration(0, LONGEST_S, min_open=True)
_bounce_ms = Duration(0, 100)


@click.command()
@job_file
@click.option("--seconds", type=_seconds, default=60.0, show_default=True, help="How long every group is played.")
@click.option("--seed", type=click.IntRange(0, 2**32 - 1), default=1, show_default=True, help="Same seed, same result.")
@click.option("--bounce", type=FILE_PATH, help="Recorded bounce: lines such as great,closing,0.4,0.9.")
@click.option("--assume-bounce-ms", type=_bounce_ms, help="The longest bounce where none is known; said in the result.")
@click.option("--json", "as_json", is_flag=True, help="Write JSON for other programs.")
def command(
    file: Path, seconds: float, seed: int, bounce: Path | None, assume_bounce_ms: float | None, as_json: bool
) -> None:
    """Play the console in numbers: how late, how often twice, and how often not at all its strokes are heard.

    Times run from the first touch to the end of the message on an idle wire.  Ctrl-C ends it early and shows what was
    played until then.
    """
    plan = planned(open_job(file))
    assumed_us = None if assume_bounce_ms is None else 1000 * assume_bounce_ms
    groups, left_out = simulated_groups(plan, _recorded(bounce, plan), assumed_us)
    if not groups:
        raise Stop(Exit.PROBLEMS, *(f"{one.group}: {one.why}" for one in left_out), "nothing to simulate")
    with _stopping_early() as keep_going:
        result = simulate(groups, seconds, seed, keep_going)
    if as_json:
        raw_data(simulation_json(result, left_out, seed, assumed_us))
    else:
        _show(result, left_out, seed)
    _say_sources(bounce, assume_bounce_ms)
    if not result.complete:
        raise Stop(Exit.INTERRUPTED, f"ended early, after {result.seconds:g} of {seconds:g} s")


def _recorded(path: Path | None, plan: ConversionPlan) -> Mapping[str, RecordedBounce]:
    if path is None:
        return {}
    try:
        return parse_recorded(path.read_text(encoding="utf-8"), str(path), [group.id for group in plan.groups])
    except UnicodeDecodeError as error:
        raise Stop(Exit.PROBLEMS, f"{path}: bytes that are no UTF-8 found; save it as plain text in UTF-8") from error
    except RecordingError as error:
        raise Stop(Exit.PROBLEMS, *error.problems) from error


@contextmanager
def _stopping_early() -> Iterator[Callable[[float], bool]]:
    """Give a progress line that answers False once Ctrl-C was pressed."""
    pressed: list[int] = []

    def keep_going(share: float) -> bool:
        if sys.stderr.isatty():
            click.echo(f"\r{100 * share:3.0f} %", nl=False, err=True)
        return not pressed

    before = signal.signal(signal.SIGINT, lambda number, _: pressed.append(number))
    try:
        yield keep_going
    finally:
        signal.signal(signal.SIGINT, before)
        if sys.stderr.isatty():
            click.echo("\r     \r", nl=False, err=True)


_HEAD = ("group", "strokes", "50 %", "99 %", "99.9 %", "most", "double", "at most", "lost", "at most")


def _show(result: Result, left_out: tuple[LeftOut, ...], seed: int) -> None:
    for line in folded(
        f"{result.seconds:g} s played, seed {seed}; ms from the touch to the end of the message; double and lost "
        "strokes in a million, each with the upper end of its 95 % interval"
    ):
        data(line)
    for line in columns([_HEAD, *map(_row, result.groups)]):
        data(line)
    for one in left_out:
        talk(f"left out: {one.group}: {one.why}")


def _say_sources(recording: Path | None, assumed_ms: float | None) -> None:
    """Say what the bounce rests on."""
    if recording is None:
        talk("bounce is modelled from the worst or longest known; how it is spread has no published source")
    if assumed_ms is not None:
        talk(f"where no bounce is known up to {assumed_ms:g} ms were assumed, which nobody has measured")


def _row(group: GroupResult) -> tuple[str, ...]:
    rates = (group.double, group.lost)
    return (
        shown(group.id),
        f"{group.strokes}",
        *_times(group.touched),
        *(f"{figure:.0f}" for rate in rates for figure in (rate.per_million, rate.per_million_at_most)),
    )


def _times(spread: Spread) -> tuple[str, ...]:
    percentiles = dict(spread.percentiles)
    wanted = [percentiles.get(50.0), percentiles.get(99.0), percentiles.get(99.9), spread.greatest]
    return tuple("-" if value is None else f"{value / 1000:.2f}" for value in wanted)
