"""Loading a job file: every problem that it has is reported in one run."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from retrofit.survey.as_found_check import as_found_faults
from retrofit.survey.cross_checks import cross_faults
from retrofit.survey.faults import Fault, faults_to_problems
from retrofit.survey.job import FORMAT, Job
from retrofit.survey.members import members_of_job, salvage_members
from retrofit.survey.problems import JobFileError, Problem, ProblemKind, shown
from retrofit.survey.shape import shape_faults
from retrofit.survey.user_text import decode_user_text, read_user_bytes

_FORMAT_LINE = f"format = {FORMAT}"


def load_job(path: Path) -> Job:
    """Return the job in the file at `path`.  Raises `JobFileError` with all of its problems."""
    return parse_job_bytes(read_user_bytes(path), str(path))


def parse_job_bytes(content: bytes, file_name: str) -> Job:
    """Return the job that the bytes of a file hold.  Raises `JobFileError` with all of its problems."""
    return parse_job(decode_user_text(content, file_name), file_name)


def parse_job(text: str, file_name: str) -> Job:
    """Return the job that `text` describes; `file_name` stands in its problems.  Raises `JobFileError` with all."""
    data = _parse_toml(text, file_name)
    job, faults = _judge(data)
    if job is None or faults:
        raise JobFileError(faults_to_problems(faults, file_name, text, data))
    return job


def _judge(data: dict[str, Any]) -> tuple[Job | None, list[Fault]]:
    if "format" in data and not _is_our_format(data["format"]):
        # The number is put right for a moment, so that everything else is judged in the same run.
        return None, [_wrong_format(data["format"]), *_judge({**data, "format": FORMAT})[1]]
    try:
        job = Job.model_validate(data)
    except ValidationError as error:
        shape = [_format_named(fault) for fault in shape_faults(error, Job, data)]
        return None, [*shape, *cross_faults(salvage_members(data))]
    return job, [*cross_faults(members_of_job(job)), *as_found_faults(job)]


def _is_our_format(found: object) -> bool:
    return found == FORMAT and type(found) is int


def _wrong_format(found: object) -> Fault:
    newer = isinstance(found, int) and found > FORMAT
    remedy = "a newer version of this program reads it" if newer else f"write '{_FORMAT_LINE}'"
    return Fault(ProblemKind.WRONG_FORMAT, ("format",), f"format {shown(found)}", f"format {FORMAT}", remedy)


def _format_named(fault: Fault) -> Fault:
    """Say of a missing format what it is for."""
    if fault.path != ("format",):
        return fault
    allowed = "the number of the file's format"
    return Fault(ProblemKind.NO_FORMAT, fault.path, fault.found, allowed, f"begin the file with '{_FORMAT_LINE}'")


def _parse_toml(text: str, file: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except RecursionError:
        problem = _syntax_problem(file, None, "lists or tables nested hundreds deep")
    except tomllib.TOMLDecodeError as error:
        problem = _syntax_problem(file, *_said_plainly(str(error), text))
    except ValueError:  # raised by the number itself, which is no error of syntax
        problem = _syntax_problem(file, None, "a number of thousands of digits")
    raise JobFileError([problem])


def _syntax_problem(file: str, line: int | None, found: str) -> Problem:
    return Problem(ProblemKind.SYNTAX, file, line, "", found, "TOML", "look at this line and the one above")


def _said_plainly(message: str, text: str) -> tuple[int | None, str]:
    """Split the parser's message into the line and its words."""
    place = re.search(r" \(at (?:line (\d+), column (\d+)|end of document)\)$", message)
    if place is None:
        return None, message
    words = message[: place.start()]
    if place[1] is None:
        return text.count("\n") + 1, f"what TOML does not allow: {words} at the end of the file"
    return int(place[1]), f"what TOML does not allow: {words} at column {place[2]}"
