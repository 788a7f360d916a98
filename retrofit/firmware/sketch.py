"""The sketch folder: the hand-written firmware for a board, the generated table, and a page that says what it is."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from pathlib import Path, PurePosixPath
from typing import Any

from retrofit.catalogue.load import load_catalogue
from retrofit.catalogue.parts import Board
from retrofit.firmware.about import ABOUT_FILE_NAME, about_text
from retrofit.firmware.output_folder import OutputFolderError, write_folder
from retrofit.firmware.project_files import BoardTools, project_files
from retrofit.firmware.render import TABLE_FILE_NAME, render_table
from retrofit.firmware.rows import TableError
from retrofit.firmware.sketch_name import sketch_name
from retrofit.firmware.table import build_table
from retrofit.firmware.table_notes import table_notes
from retrofit.plan.model import ConversionPlan

FILE_LIST_NAME = "files.toml"


class SketchError(Exception):
    """The sketch cannot be written; the message says why and what to do."""


@dataclass(frozen=True, slots=True)
class SketchResult:
    """What became of a sketch folder: file names written, left as they were, and removed as left over."""

    folder: Path
    written: tuple[str, ...]
    unchanged: tuple[str, ...]
    removed: tuple[str, ...] = ()


def write_sketch(plan: ConversionPlan, folder: Path) -> SketchResult:
    """Write the sketch of a plan into a folder of its own inside `folder`.

    Files are replaced one by one, each in one step, and only when they differ.  Raises `SketchError`, with nothing
    written, when the plan has errors, does not fit the firmware's table, or the folder holds somebody else's files.
    """
    try:
        name = sketch_name(plan.job.instrument.name)
        outcome = write_folder(folder / name, sketch_files(plan, name))
    except (TableError, OutputFolderError) as error:
        raise SketchError(str(error)) from error
    return SketchResult(folder / name, outcome.written, outcome.unchanged, outcome.removed)


def sketch_files(plan: ConversionPlan, name: str) -> dict[str, bytes]:
    """Return the name and content of every file of the sketch called `name`."""
    _refuse_errors(plan)
    rows = build_table(plan, _board(plan))
    table = render_table(rows)
    hand_written = _hand_written(plan.board, name)
    about = about_text(plan, name, (*_board_notes(plan.board), *table_notes(rows, table))).encode()
    generated = {TABLE_FILE_NAME: table.encode(), ABOUT_FILE_NAME: about}
    return hand_written | generated | project_files(board_tools(plan.board))


def _refuse_errors(plan: ConversionPlan) -> None:
    if plan.errors:
        first = plan.errors[0]
        raise SketchError(
            f"{first.subject}: {first.message} [{first.rule}]; a plan without errors is built, "
            f"this one has {len(plan.errors)}"
        )


def _board(plan: ConversionPlan) -> Board:
    boards = load_catalogue().boards
    if plan.board not in boards:
        raise SketchError(f"the board {plan.board} is not in the catalogue; allowed are {', '.join(sorted(boards))}")
    return boards[plan.board]


def _hand_written(board: str, name: str) -> dict[str, bytes]:
    boards = _file_list()["boards"]
    if board not in boards:
        raise SketchError(f"there is no firmware for the board {board}; there is for {', '.join(sorted(boards))}")
    flat = {PurePosixPath(path).name: _template_bytes(path) for path in listed_files(board)}
    return flat | {f"{name}.ino": _template_bytes(boards[board]["sketch"])}


def _board_notes(board: str) -> list[str]:
    notes: list[str] = _file_list()["boards"][board].get("about", [])
    return notes


def board_tools(board: str) -> BoardTools:
    """Return how the user's tools call a board."""
    return BoardTools(**_file_list()["boards"][board]["tools"])


def listed_files(board: str) -> list[str]:
    """Return the hand-written files of a board, without its sketch; `core/*` stands for all of that folder."""
    return [path for entry in _file_list()["boards"][board]["files"] for path in _expanded(entry)]


def _expanded(entry: str) -> list[str]:
    folder, name = entry.split("/")
    if name != "*":
        return [entry]
    inside = files("firmware_templates").joinpath(folder).iterdir()
    return sorted(f"{folder}/{path.name}" for path in inside if path.name.endswith((".c", ".cpp", ".h")))


@cache
def _file_list() -> dict[str, Any]:
    return tomllib.loads(_template_bytes(FILE_LIST_NAME).decode("utf-8"))


def _template_bytes(path: str) -> bytes:
    return files("firmware_templates").joinpath(path).read_bytes()
