"""`retrofit rehearse`: a whole proving run on a stand-in console, with faults put in by name."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from retrofit.cli.arguments import FILE_PATH, Duration, job_file
from retrofit.cli.jobs import open_job
from retrofit.cli.names import known_name
from retrofit.cli.output import Exit, Stop, data, talk
from retrofit.cli.plans import planned, refuse_errors
from retrofit.cli.rehearse_console import made_console, on_stage
from retrofit.cli.rehearse_music import play_music
from retrofit.cli.rehearse_run import Playing, Rehearsed, rehearsed, say_outcome
from retrofit.cli.terminal import columns
from retrofit.plan.model import ConversionPlan
from retrofit.rehearsal.standin.faults.grammar import KINDS
from retrofit.rehearsal.standin.manners import MANNERS


def _list_faults(context: click.Context, _: click.Parameter, wanted: bool) -> None:
    if wanted:
        for line in columns([("fault", "what it is"), *((kind.form, kind.what) for kind in KINDS)]):
            data(line)
        context.exit()


@click.command()
@job_file
@click.option("--division", metavar="DIVISION", multiple=True, help="Only this division; may be repeated.")
@click.option("--fault", "faults", metavar="WORDS", multiple=True, help="Put this fault in; may be repeated.")
@click.option(
    "--list-faults", is_flag=True, is_eager=True, expose_value=False, callback=_list_faults, help="List all faults."
)
@click.option("--player", type=click.Choice(list(MANNERS)), default="slow", show_default=True, help="Who plays.")
@click.option("--seed", type=click.IntRange(0, 2**32 - 1), default=1, show_default=True, help="Same seed, same course.")
@click.option("--soak", "soak_minutes", type=Duration(0, 24 * 60), default=0.0, metavar="MINUTES", help="Soak.")
@click.option("--ports", is_flag=True, help="Be a real MIDI port, where the system allows that, in real time.")
@click.option("--music", metavar="FILE", type=FILE_PATH, help="Play a Standard MIDI File instead of a proving run.")
@click.option("--fast", is_flag=True, help="As fast as the machine can reckon, in place of real time.")
def command(file: Path, division: tuple[str, ...], ports: bool, fast: bool, music: Path | None, **game: Any) -> None:
    """Rehearse the proving of FILE on a stand-in console, before any wire is touched.

    The stand-in has the plan's contacts, wires and board, whose contacts bounce; a pretended player does what the run
    asks for.  Faults that are put in by name should be found as causes.  Nothing is written: no record, no job file.
    Ends with 0 when a sound console passes, or faults that were put in are noticed.
    """
    if ports and fast:
        raise Stop(Exit.USAGE, "--ports is in real time: leave --fast out")
    plan = planned(open_job(file))
    refuse_errors(plan, file)
    divisions = _divisions(plan, division)
    faults, playing = game.pop("faults"), Playing(**game)
    console = made_console(plan, faults, playing.seed)
    talk("rehearsal on a stand-in console: no instrument is proven by it, and nothing is written")
    for fault in faults:
        talk(f"put in: {fault}")
    with on_stage(console, fast, ports) as stage:
        if music is not None:
            play_music(plan, stage, music)
            return
        outcomes = [rehearsed(plan, name, stage, playing) for name in divisions]
    say_outcome(outcomes)
    _end(outcomes, faults)


def _divisions(plan: ConversionPlan, named: tuple[str, ...]) -> list[str]:
    known = [one.id for one in plan.job.divisions]
    return [known_name("division", name, known) for name in named] or known


def _end(outcomes: list[Rehearsed], faults: tuple[str, ...]) -> None:
    """End with 0 when the outcome is what the console deserves."""
    noticed = any(one.result.failed or one.causes for one in outcomes)
    if faults and not noticed:
        raise Stop(
            Exit.PROBLEMS,
            "faults were put in, and nothing was noticed: they lie in another division, or nobody can be sure to hear "
            "them, as the ghosts of some diode boards (retrofit chords FILE GROUP says of which)",
        )
    if faults:
        return
    if noticed:
        raise Stop(Exit.PROBLEMS, "a sound console was accused: what of stands above")
    if not all(one.result.complete for one in outcomes):
        raise Stop(Exit.PROBLEMS, *(f"not done: {step}" for one in outcomes for step in one.result.not_done))
