"""Invented consoles drawn by chance, planned for the RP2040."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import count

from retrofit.catalogue.load import load_catalogue
from retrofit.plan.build import plan_conversion
from retrofit.survey.job import Job
from tests.emulator.random_jobs import random_job

BOARD = "rp2040"
CPU_HZ = 125_000_000
STEP = 1000
"""Between seeds that are tried for one console: this board has few pins, and not every drawing fits."""


def on_this_board(job: Job) -> Job:
    """Return a job with this board wanted for it."""
    return job.model_copy(update={"wanted": job.wanted.model_copy(update={"board": BOARD})})


def drawn_job(seed: int, interfaces: Sequence[str]) -> Job:
    """Return a job whose plan for this board has no errors, drawn from `seed` with groups on `interfaces`."""
    return next(job for job in _drawings(seed, interfaces) if not plan_conversion(job, load_catalogue()).errors)


def _drawings(seed: int, interfaces: Sequence[str]) -> Iterator[Job]:
    return (on_this_board(random_job(seed + STEP * turn, interfaces)) for turn in count())
