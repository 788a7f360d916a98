"""The demo jobs as images: planned, written and compiled once per run, also with their firmware spoilt on purpose."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources
from pathlib import Path

from retrofit.catalogue.load import load_catalogue
from retrofit.firmware.sketch import write_sketch
from retrofit.plan.build import plan_conversion
from retrofit.plan.model import ConversionPlan
from retrofit.survey.job import Job
from retrofit.survey.load import load_job
from tests.emulator.build import Image, build_sketch
from tests.emulator.rp2040.build import build_bare
from tests.emulator.stage import Stage

DEMOS = ("gutted_home", "theatre")


@dataclass(frozen=True)
class Spoil:
    """One exact replacement in one file of a sketch; text that is not there exactly once is an error."""

    file: str
    text: str
    by: str


@dataclass(frozen=True)
class Console:
    """A planned console with its image and its contacts."""

    plan: ConversionPlan
    image: Image

    @property
    def stage(self) -> Stage:
        """Its contacts, ready to be moved."""
        return Stage(self.plan)

    @property
    def listening_us(self) -> float:
        """When the firmware has reported its state after power-on: from here on every message answers a contact."""
        return self.plan.job.wanted.power_on_wait_s * 1e6 + 500_000


@cache
def demo(name: str) -> Console:
    """Return a demo job's console."""
    return console(demo_job(name))


@cache
def prompt_plan(name: str) -> ConversionPlan:
    """Return the plan of `prompt_demo`, without building anything."""
    return plan_conversion(prompt_job(name), load_catalogue())


@cache
def prompt_demo(name: str) -> Console:
    """Return a demo job's console that reports its state soon after power-on; nothing else is changed."""
    return console(prompt_job(name))


def prompt_job(name: str) -> Job:
    """Return a demo job with the wait after power-on cut short, so that a run spends its time on playing."""
    job = demo_job(name)
    return job.model_copy(update={"wanted": job.wanted.model_copy(update={"power_on_wait_s": 0.1})})


def demo_job(name: str) -> Job:
    """Return a demo job."""
    with resources.as_file(resources.files("retrofit.demo") / f"{name}.toml") as path:
        return load_job(path)


def console(job: Job, spoils: Sequence[Spoil] = ()) -> Console:
    """Plan a job and build its firmware, spoilt as asked."""
    plan = plan_conversion(job, load_catalogue())
    with tempfile.TemporaryDirectory() as folder:
        sketch = write_sketch(plan, Path(folder)).folder
        for spoil in spoils:
            spoil_file(spoil, sketch)
        return Console(plan, build_bare(sketch) if plan.board == "rp2040" else build_sketch(sketch, plan.board))


def copy_sketch(name: str, folder: Path) -> Path:
    """Write a demo's sketch folder below `folder`, whole."""
    with tempfile.TemporaryDirectory() as work:
        sketch = write_sketch(demo(name).plan, Path(work)).folder
        return Path(shutil.copytree(sketch, folder / sketch.name))


def spoil_file(spoil: Spoil, sketch: Path) -> None:
    """Spoil one file of a sketch folder."""
    path = sketch / spoil.file
    text = path.read_text(encoding="utf-8")
    if text.count(spoil.text) != 1:
        raise AssertionError(
            f"{path.name} holds {spoil.text!r} {text.count(spoil.text)} times, not once: mend the test"
        )
    path.write_text(text.replace(spoil.text, spoil.by), encoding="utf-8")
