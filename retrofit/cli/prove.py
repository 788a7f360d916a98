"""`retrofit prove`: a division's contacts, one after the other, held against the plan, without looking at a screen."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from retrofit.cli.arguments import FILE_PATH, Duration, job_file
from retrofit.cli.jobs import open_job
from retrofit.cli.names import known_name
from retrofit.cli.output import Exit, Stop, talk
from retrofit.cli.plans import planned
from retrofit.cli.prove_course import STEP_WORDS
from retrofit.cli.prove_person import TerminalPerson
from retrofit.cli.prove_run import Asked, Outcome, proved
from retrofit.cli.prove_source import listening, tones_to
from retrofit.cli.writing import files_or_stop
from retrofit.proving.records.errors import RecordError
from retrofit.proving.records.rows import Kind
from retrofit.proving.records.store import RecordFile, records_path
from retrofit.proving.runs.conditions import CAUTIONS
from retrofit.proving.tones import ToneChoice
from retrofit.survey.instrument import Progress
from retrofit.survey.job import Job


@click.command()
@job_file
@click.option("--division", metavar="DIVISION", help="The division to prove; needed where the job has several.")
@click.option("--port", metavar="NAME", help="The MIDI input to listen to; an unmistakable part of its name will do.")
@click.option("--serial", metavar="DEVICE", help="A serial line that carries MIDI at 31,250 baud.")
@click.option(
    "--replay",
    metavar="FILE",
    type=FILE_PATH,
    help="A Standard MIDI File, or a file of records, in place of a live console.  One that begins with playing, "
    "without five seconds of silence for the idle picture, wants --only slow-run --only asked-for.",
)
@click.option("--tones", metavar="NAME", help="A MIDI output for tones: high is right, low is wrong.")
@click.option("--own-note", is_flag=True, help="Sound the point's own note with the tone.")
@click.option("--who", default="", metavar="NAME", help="Who proves it; stands in the record.")
@click.option("--ready", is_flag=True, help="All conditions hold (amplifier down, couplers off and so on): do not ask.")
@click.option("--resume", is_flag=True, help="Go on with the run that was stopped or interrupted.")
@click.option("--only", type=click.Choice(list(STEP_WORDS)), multiple=True, help="Only steps of this kind; repeatable.")
@click.option(
    "--soak",
    "soak_minutes",
    type=Duration(0, 24 * 60),
    default=30.0,
    metavar="MINUTES",
    help="How long the soak is; 30 unless said, 0 for none.",
)
@click.option("--records", metavar="FILE", type=FILE_PATH, help="The file of records; beside the job unless said.")
@click.option("--json", "as_json", is_flag=True, help="Write JSON for other programs.")
def command(
    file: Path, division: str | None, records: Path | None, tones: str | None, own_note: bool, **options: Any
) -> None:
    """Prove a division: idle picture, slow run, fast run, chords, stops, shoes, pistons, soak.

    Play in any order: the run follows by itself, says what comes next on stderr and as tones, asks for what it did not
    hear and for what tells one cause from another, and keeps everything in a file of records beside the job.  Words may
    be typed at any time: skip, back, again, done, quit.  Ends with 0 only when everything was tried and passed.
    """
    job = open_job(file)
    sources = {name: options.pop(name) for name in ("port", "serial", "replay")}
    asked = Asked(file=file, division=_division(job, division), **options)
    plan = planned(job)
    _say_cautions()
    _say_progress(job, asked)
    with (
        listening(**sources, job=job) as heard,
        tones_to(tones, ToneChoice(own_note=own_note)) as sounds,
        files_or_stop(RecordError),
        RecordFile(records or records_path(file), job.instrument.name) as record,
    ):
        person = TerminalPerson(heard.clock.now_us, sounds, may_type=heard.kind is not Kind.REPLAY)
        outcome = proved(asked, plan, heard, person, record)
    _end(asked, outcome)


def _division(job: Job, named: str | None) -> str:
    known = [division.id for division in job.divisions]
    if named is None and len(known) > 1:
        raise Stop(Exit.USAGE, f"which division? --division is one of {', '.join(known)}")
    return known[0] if named is None else known_name("division", named, known)


def _say_cautions() -> None:
    for caution in CAUTIONS:
        talk(f"caution: {caution}")


def _say_progress(job: Job, asked: Asked) -> None:
    """A division that is not marked as wired may still move when the plan changes."""
    progress = next(division.progress for division in job.divisions if division.id == asked.division)
    if progress is Progress.PLANNED:
        talk(
            f"{asked.division} is {progress} in the job, not wired: its addresses may still move; "
            f"retrofit record {asked.file} --wired {asked.division} keeps them"
        )
    else:
        talk(f"{asked.division} is {progress} in the job")


def _end(asked: Asked, outcome: Outcome) -> None:
    """Say in one line how it went; end with 0 only when all was tried and passed."""
    if outcome.failed:
        raise Stop(Exit.PROBLEMS, f"{asked.division} has failed; what failed stands above")
    if not outcome.result.complete:
        raise Stop(Exit.PROBLEMS, f"{asked.division} is not proven yet: not everything was tried")
    if asked.only:
        talk(
            f"{asked.division}: the steps that were asked for have passed; without --only the whole division is proved"
        )
        return
    talk(f"{asked.division} has passed; retrofit record {asked.file} --proven {asked.division} keeps that in the job")
