"""`retrofit demo`: two invented consoles, from job file to firmware."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

import click

from retrofit.cli.arguments import FILE_PATH
from retrofit.cli.building import write_build
from retrofit.cli.check import summary
from retrofit.cli.jobs import open_job
from retrofit.cli.output import Exit, Stop, counted, data, talk
from retrofit.cli.plans import planned, refuse_errors
from retrofit.cli.schema import schema_text
from retrofit.cli.writing import say_written, write_text
from retrofit.plan.model import ConversionPlan
from retrofit.survey.points import PointKind
from retrofit.survey.schema import SCHEMA_FILE_NAME

DEMOS = ("gutted_home.toml", "theatre.toml")
"""The demo jobs: one console that is taken over, one that is only listened to."""


@click.command()
@click.argument("folder", metavar="[DIR]", default="demo-console", type=FILE_PATH)
@click.option("--force", is_flag=True, help="Replace demo files that were edited; the old ones stay as backups.")
def command(folder: Path, force: bool) -> None:
    """Copy the two demo consoles into DIR (demo-console unless named), then check, plan and build each of them.

    Both consoles are invented: one is gutted and every line is ours, one plays and every original circuit stays.
    """
    copy_demos(folder, force)
    for number, name in enumerate(DEMOS, 1):
        talk(f"[{number}/{len(DEMOS)}] {folder / name}")
        _show(folder / name)
    talk(f"next: retrofit plan {folder / DEMOS[-1]}, or open it in an editor, change something and check it")


def copy_demos(folder: Path, force: bool) -> None:
    """Copy the demo jobs and their schema; ends the command when one was edited and `force` is not given."""
    texts = {name: _demo_text(name) for name in DEMOS} | {SCHEMA_FILE_NAME: schema_text()}
    edited = [folder / name for name, text in texts.items() if _differs(folder / name, text)]
    if edited and not force:
        raise Stop(
            Exit.FILES,
            *(f"{path}: found edited; a demo file as it was copied may be replaced" for path in edited),
            "nothing written; name another folder, or --force to replace them and keep backups",
        )
    for name, text in texts.items():
        say_written(folder / name, write_text(folder / name, text))


def _demo_text(name: str) -> str:
    return files("retrofit.demo").joinpath(name).read_text(encoding="utf-8")


def _differs(path: Path, text: str) -> bool:
    return path.exists() and path.read_bytes() != text.encode("utf-8")


def _show(path: Path) -> None:
    """Check, plan and build one job, with a line of talk for each step and a line of data at the end."""
    job = open_job(path)
    plan = planned(job)
    talk(f"  check: no problems; {summary(plan.findings)}")
    refuse_errors(plan, path)
    talk(f"  plan:  {plan.digest}, {counted(len(plan.points), 'point')}")
    folder = path.with_suffix("")
    built = write_build(plan, folder)
    talk(f"  build: {counted(len(built.paths), 'file')} in {folder}, {len(built.written)} of them written")
    data(f"{path}: {_in_short(plan)}")


def _in_short(plan: ConversionPlan) -> str:
    keys = {point.point.group for point in plan.points if point.point.kind is PointKind.KEY}
    worst = max(group.press_latency_us_max for group in plan.groups if group.id in keys)
    sampled = f"sampled every {plan.tick_us} µs, busy {plan.busy_us:.0f} µs"
    return f"{counted(len(plan.points), 'point')}, {sampled}, slowest key {worst / 1000:.1f} ms, plan {plan.digest}"
