"""The job description that a board keeps, as text and as a plan."""

from __future__ import annotations

from retrofit.cli.board_port import counted_progress
from retrofit.cli.output import Exit, Stop
from retrofit.cli.plans import planned
from retrofit.firmware.link.board import LiveBoard
from retrofit.plan.model import ConversionPlan
from retrofit.survey.load import parse_job
from retrofit.survey.packed_text import PackingError, unpack_text
from retrofit.survey.problems import JobFileError


def description_text(board: LiveBoard) -> str:
    """Return the text of the job that a board keeps, empty where it keeps none; end the command when it is damaged."""
    packed = board.description(counted_progress("job description"))
    try:
        return unpack_text(packed) if packed else ""
    except PackingError as error:
        raise Stop(Exit.PROBLEMS, f"the job description of the board cannot be read: {error}") from error


def held_plan(text: str) -> ConversionPlan:
    """Return the plan of the job that a board keeps; end the command when this version does not read it."""
    try:
        return planned(parse_job(text, "the board's job"))
    except JobFileError as error:
        said = (str(problem) for problem in error.problems)
        raise Stop(
            Exit.PROBLEMS, *said, "the board holds another plan, and this version of the program does not read its job"
        ) from error
