"""Planning a job, for every command that needs the plan."""

from __future__ import annotations

from pathlib import Path

from retrofit.catalogue.load import load_catalogue
from retrofit.cli.output import Exit, Stop
from retrofit.plan.build import plan_conversion
from retrofit.plan.model import ConversionPlan
from retrofit.survey.job import Job


def planned(job: Job) -> ConversionPlan:
    """Return the plan of a job."""
    return plan_conversion(job, load_catalogue())


def refuse_errors(plan: ConversionPlan, path: Path) -> None:
    """End the command when findings of the plan stop the work."""
    if plan.errors:
        said = (f"{finding.rule} {finding.subject}: {finding.message}" for finding in plan.errors)
        raise Stop(Exit.PROBLEMS, *said, f"nothing written; see: retrofit check {path}")
