"""Opening a job file, for every command that needs one."""

from __future__ import annotations

from pathlib import Path

from retrofit.cli.output import Exit, Stop
from retrofit.survey.job import Job
from retrofit.survey.load import load_job
from retrofit.survey.problems import JobFileError, Problem, ProblemKind

_NOT_READ = {ProblemKind.NO_FILE, ProblemKind.NOT_A_FILE, ProblemKind.UNREADABLE}


def read_job(path: Path) -> tuple[Job | None, tuple[Problem, ...]]:
    """Return the job, or None and every problem of its file.  A file that cannot be read at all ends the command."""
    try:
        return load_job(path), ()
    except JobFileError as error:
        stop_if_not_read(error)
        return None, error.problems


def stop_if_not_read(error: JobFileError) -> None:
    """End the command when the problem is not what the file says but that it cannot be read."""
    if any(problem.kind in _NOT_READ for problem in error.problems):
        raise Stop(Exit.FILES, *map(str, error.problems)) from error


def open_job(path: Path) -> Job:
    """Return the job of a file without problems; otherwise end the command, saying all of them."""
    job, problems = read_job(path)
    if job is None:
        raise Stop(Exit.PROBLEMS, *map(str, problems))
    return job
