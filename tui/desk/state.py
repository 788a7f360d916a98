"""The open job as the rooms see it: one frozen value, replaced as a whole by every change."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from retrofit.plan.model import ConversionPlan
from retrofit.survey.job import Job
from retrofit.survey.problems import Problem


@dataclass(frozen=True, slots=True)
class DeskState:
    """A job file and what was made of it.

    `job` and `plan` are None while the text has `problems`.  `on_disk` is False for text that could not be kept, and
    `undoes` and `redoes` are the labels of the edits that undo and redo would touch, empty where there are none.
    """

    path: Path
    text: str
    job: Job | None
    problems: tuple[Problem, ...]
    plan: ConversionPlan | None
    undoes: str = ""
    redoes: str = ""
    on_disk: bool = True

    @property
    def title(self) -> str:
        """The instrument's name, or the file's where it cannot be read."""
        return self.path.name if self.job is None else self.job.instrument.name
