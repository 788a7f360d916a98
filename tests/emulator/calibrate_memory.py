"""Prints the firmware's memory per board, fitted to compiled images: `python -m tests.emulator.calibrate_memory`.

Consoles drawn by chance, with all their groups on the chain where the board is small, are built without a stored
description.  Data memory is fitted by lanes and groups; of program memory these take the rows of their tables, which
are known.  The base is then as large as the greediest image needs: it holds whatever kinds of front end there are.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

import numpy as np

from retrofit.survey.instrument import StoredDescription
from retrofit.survey.job import Job
from retrofit.survey.wishes import DebounceFamily
from tests.emulator.build import TARGETS
from tests.emulator.demos import console
from tests.emulator.random_jobs import random_job
from tests.emulator.usb_console import BOARD as SMALL_BOARD
from tests.emulator.usb_console import on_small_board

SEEDS = range(201, 209)
HOLD_BYTES = 3
"""A slot for each contact whose first edge is reported."""
LANE_FLASH_BYTES = 8 * 6 + 2
"""Eight rows of `struct message` and one of `struct lane`."""
GROUP_FLASH_BYTES = 14 + 6
"""A row of `struct group` and one of `struct run`."""


@dataclass(frozen=True)
class Size:
    """What one image takes: bytes, and what it reads."""

    lanes: int
    groups: int
    holds: int
    ram: int
    flash: int


def job_of(seed: int, board: str) -> Job:
    """Return a drawn job for a board, which keeps no description of itself."""
    job = random_job(seed)
    job = on_small_board(job) if board == SMALL_BOARD else job
    bare = job.wanted.model_copy(update={"stored_description": StoredDescription.NONE})
    return job.model_copy(update={"wanted": bare})


def size_of(job: Job) -> Size:
    """Build a job and return what its image takes."""
    built = console(job)
    lanes = built.plan.layout.lanes
    first_edge = {g.id for g in built.plan.groups if g.debounce and g.debounce.family is DebounceFamily.FIRST_EDGE}
    holds = sum(lane.used.bit_count() for lane in lanes if lane.group in first_edge)
    groups = len({lane.group for lane in lanes})
    return Size(len(lanes), groups, holds, built.image.ram, built.image.flash)


def fitted(sizes: Sequence[Size], measured: Sequence[int]) -> tuple[int, int, int]:
    """Return base, bytes a lane and bytes a group, none of the images being larger."""
    rows = np.array([[1, size.lanes, size.groups] for size in sizes], dtype=float)
    _, lane, group = np.linalg.lstsq(rows, np.array(measured), rcond=None)[0]
    lane, group = max(0, ceil(lane)), max(0, ceil(group))
    return base_of(sizes, measured, lane, group), lane, group


def base_of(sizes: Sequence[Size], measured: Sequence[int], lane: int, group: int) -> int:
    """Return the base with which no image is larger than is said."""
    return max(bytes_ - size.lanes * lane - size.groups * group for size, bytes_ in zip(sizes, measured, strict=True))


def main() -> None:
    """Build, fit and print, for every board that is compiled here."""
    for board in TARGETS:
        sizes = [size_of(job_of(seed, board)) for seed in SEEDS]
        ram = fitted(sizes, [size.ram - HOLD_BYTES * size.holds for size in sizes])
        base = base_of(sizes, [size.flash for size in sizes], LANE_FLASH_BYTES, GROUP_FLASH_BYTES)
        flash = (base, LANE_FLASH_BYTES, GROUP_FLASH_BYTES)
        sys.stdout.write(f"{board}: {len(sizes)} images of {sorted(size.lanes for size in sizes)} lanes\n")
        for name, values in (("ram", ram), ("flash", flash)):
            for part, value in zip(("base", "lane", "group"), values, strict=True):
                sys.stdout.write(f"{name}_{part} = {value}\n")
        for size in sizes:
            said_ram = ram[0] + ram[1] * size.lanes + ram[2] * size.groups + HOLD_BYTES * size.holds
            said_flash = flash[0] + flash[1] * size.lanes + flash[2] * size.groups
            sys.stdout.write(f"{size}: {said_ram / size.ram - 1:+.1%} {said_flash / size.flash - 1:+.1%}\n")


if __name__ == "__main__":
    main()
