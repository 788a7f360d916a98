"""Writing everything that a plan gives: the sketch folder and the papers."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from retrofit.cli.writing import files_or_stop
from retrofit.firmware.output_folder import OutputFolderError, write_folder
from retrofit.firmware.sketch import SketchError, sketch_files, write_sketch
from retrofit.firmware.sketch_name import sketch_name
from retrofit.papers.change_notes import change_notes_text
from retrofit.papers.connections import connections_csv, connections_text
from retrofit.papers.implementation_chart import IMPLEMENTATION_CHART_NAME, implementation_chart_text
from retrofit.papers.message_list import MESSAGE_LIST_NAME, message_list_csv
from retrofit.papers.putback_sheet import putback_sheet_csv, putback_sheet_text
from retrofit.papers.tune import TUNE_NAME, tune_file
from retrofit.papers.wiring_schedule import wiring_schedule_csv
from retrofit.plan.gate import papers_allowed
from retrofit.plan.model import ConversionPlan
from retrofit.plan.putback import calls_for_putback

OF_PUTBACK: dict[str, Callable[[ConversionPlan], str]] = {
    "putback-sheet.csv": putback_sheet_csv,
    "putback-sheet.txt": putback_sheet_text,
    "change-notes.txt": change_notes_text,
}
"""Papers of a job that is to be taken out again some day."""

GATED: dict[str, Callable[[ConversionPlan], str]] = {
    "wiring-schedule.csv": wiring_schedule_csv,
    "connections.csv": connections_csv,
    "connections.txt": connections_text,
    **OF_PUTBACK,
}
"""The papers that lead hands into the instrument."""


@dataclass(frozen=True, slots=True)
class Built:
    """The files of a build, and which of them were written because they differed."""

    paths: tuple[Path, ...]
    written: frozenset[Path]


def write_build(plan: ConversionPlan, folder: Path) -> Built:
    """Write papers and sketch into `folder`; the papers of `GATED` only when the gate lets them through.

    Ends the command when the folder holds files that no earlier build wrote, or that were edited since.
    """
    with files_or_stop(OutputFolderError, SketchError):
        sketch_files(plan, sketch_name(plan.job.instrument.name))  # what cannot be written is said before anything is
        papers = write_folder(folder, _papers(plan))
        sketch = write_sketch(plan, folder)
    written = [folder / name for name in papers.written] + [sketch.folder / name for name in sketch.written]
    unchanged = [folder / name for name in papers.unchanged] + [sketch.folder / name for name in sketch.unchanged]
    return Built(tuple(sorted(written + unchanged)), frozenset(written))


def paper_names(plan: ConversionPlan) -> tuple[str, ...]:
    """Return the papers that a build of this plan writes."""
    return MESSAGE_LIST_NAME, IMPLEMENTATION_CHART_NAME, *_gated(plan), TUNE_NAME


def _papers(plan: ConversionPlan) -> dict[str, bytes]:
    texts = {MESSAGE_LIST_NAME: message_list_csv(plan), IMPLEMENTATION_CHART_NAME: implementation_chart_text(plan)}
    texts |= {name: paper(plan) for name, paper in _gated(plan).items()}
    return {name: text.encode("utf-8") for name, text in texts.items()} | {TUNE_NAME: tune_file(plan)}


def _gated(plan: ConversionPlan) -> dict[str, Callable[[ConversionPlan], str]]:
    """Return what writes each paper that leads hands into the instrument; nothing while they are withheld."""
    if not papers_allowed(plan)[0]:
        return {}
    wanted = calls_for_putback(plan.job)
    return {name: paper for name, paper in GATED.items() if wanted or name not in OF_PUTBACK}
