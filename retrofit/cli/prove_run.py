"""One proving run from the command line: begun or gone on with, run, kept, and its outcome shown."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from retrofit.cli.output import Exit, Stop, data, raw_data, talk
from retrofit.cli.prove_causes import causes_of
from retrofit.cli.prove_course import Course, new_course, resumed_course, unfinished
from retrofit.cli.prove_lines import outcome_json, outcome_lines
from retrofit.cli.prove_person import TerminalPerson
from retrofit.cli.prove_source import Listening
from retrofit.plan.model import ConversionPlan
from retrofit.proving.records.keeper import RunKeeper
from retrofit.proving.records.outcome import point_rows, remark_rows
from retrofit.proving.records.rows import Kind, RunHead, RunRow, State
from retrofit.proving.records.store import RecordFile
from retrofit.proving.runs.results import RunResult, result_of
from retrofit.proving.runs.runner import Runner
from retrofit.proving.runs.words import MEANINGS


@dataclass(frozen=True, slots=True)
class Asked:
    """What the command line asks for beside the source."""

    file: Path
    division: str
    who: str
    ready: bool
    resume: bool
    only: tuple[str, ...]
    soak_minutes: float
    as_json: bool


@dataclass(frozen=True, slots=True)
class Begun:
    """A run that goes on, and what the record says of it."""

    course: Course
    number: int
    head: RunHead


@dataclass(frozen=True, slots=True)
class Outcome:
    """How a run came out, and the causes that a diagnosis names."""

    result: RunResult
    causes: tuple[str, ...]

    @property
    def failed(self) -> bool:
        """Whether anything was not as it should be; a cause that is named for certain is such a thing."""
        return self.result.failed or bool(self.causes)


def proved(asked: Asked, plan: ConversionPlan, heard: Listening, person: TerminalPerson, record: RecordFile) -> Outcome:
    """Run it, keep it, and show its outcome, however it ends."""
    begun = _begun(asked, plan, heard, record)
    keeper = RunKeeper(record, begun.number, heard.clock.now_us, talk)
    if sys.stdin.isatty():
        talk(f"words: {'; '.join(f'{word}: {meaning}' for word, meaning in MEANINGS.items())}")
    try:
        Runner(begun.course.run, heard.source, heard.clock, person, keeper).go(asked.ready)
    finally:
        _say_losses(heard)
        outcome = _keep_outcome(asked, plan, begun, keeper, record)
    return outcome


def _begun(asked: Asked, plan: ConversionPlan, heard: Listening, record: RecordFile) -> Begun:
    """Return a new run, or the one that is gone on with."""
    before = unfinished(record, asked.division)
    if asked.resume:
        if before is None:
            raise Stop(Exit.USAGE, f"no run over {asked.division} was interrupted; leave --resume out")
        begun = Begun(resumed_course(plan, record, before), before.number, before.head)
        refuse_unasked(asked, begun.course)
        return begun
    if before is not None:
        talk(f"run {before.number} over {asked.division} did not finish; --resume goes on with it")
    course = new_course(plan, asked.division, asked.only, asked.soak_minutes, ask=heard.kind is not Kind.REPLAY)
    refuse_unasked(asked, course)
    head = RunHead(asked.division, plan.digest, heard.kind, heard.source.words, asked.who, _now(), course.text)
    return Begun(course, record.begin_run(head), head)


def refuse_unasked(asked: Asked, course: Course) -> None:
    """Conditions are never taken for granted: somebody answers them, or says beforehand that they hold."""
    if course.run.condition is not None and not asked.ready and not sys.stdin.isatty():
        raise Stop(
            Exit.USAGE,
            "nobody can be asked here whether amplifier, stops, couplers and tremulant are as they must be; "
            "--ready says that they are",
        )


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="seconds")


def _keep_outcome(asked: Asked, plan: ConversionPlan, begun: Begun, keeper: RunKeeper, record: RecordFile) -> Outcome:
    """Write what is still held and the outcome; show the outcome even when the disk refuses it."""
    keeper.write()
    run = begun.course.run
    outcome = Outcome(result_of(run, asked.division), causes_of(plan, run, asked.division))
    points, remarks = point_rows(outcome.result), remark_rows(outcome.result, outcome.causes)
    row = RunRow(begun.number, begun.head, State.FINISHED if run.finished else State.STOPPED, _now())
    if asked.as_json:
        raw_data(outcome_json(row, points, remarks, failed=outcome.failed))
    else:
        for line in outcome_lines(points, remarks):
            data(line)
    record.end_run(row.number, row.state, row.ended, points, remarks)
    if keeper.held:
        raise Stop(Exit.FILES, f"{keeper.held} entries of run {row.number} could not be written to its record")
    return outcome


def _say_losses(heard: Listening) -> None:
    """Nothing that was lost on the way is kept quiet."""
    losses = heard.source.losses
    if losses.stray_bytes or losses.cut_messages or losses.dropped:
        talk(
            f"{heard.source.words}: {losses.stray_bytes} bytes of no message, {losses.cut_messages} messages cut "
            f"short, {losses.dropped} lost because they came too fast"
        )
