"""`retrofit diodes`: what the readings of an existing diode board say, and how it goes to our rows and columns."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import click

from retrofit.cli.arguments import job_file
from retrofit.cli.jobs import open_job
from retrofit.cli.names import known_name
from retrofit.cli.output import Exit, Stop, counted, data, raw_data, talk
from retrofit.cli.terminal import folded
from retrofit.midi.names import note_name
from retrofit.plan.diode_board import DiodeBoard, NoDiodeBoardError, RowDrive, diode_board
from retrofit.scan.matrix_faults.reuse import NO_KEY

_DRIVE = {
    RowDrive.FITS: "the commons of the survey are rows: our row drive fits them",
    RowDrive.TURNED: "a common of the survey is a pin where current enters: rows and columns change places",
    RowDrive.UNKNOWN: "no common of the survey is named like one of these pins, so nothing speaks against the rows",
}


@click.command()
@job_file
@click.argument("group", metavar="GROUP")
@click.option("--json", "as_json", is_flag=True, help="Write JSON for other programs.")
def command(file: Path, group: str, as_json: bool) -> None:
    """Show which pins of an existing diode board are rows and columns, which key is where, and what to read next.

    Readings stand in the job file under groups.wiring.diode_readings: the power is off, one key is held, and each
    pair of pins is tried both ways with the meter's diode range.
    """
    groups = {found.id: found for found in open_job(file).groups}
    try:
        found = diode_board(groups[known_name("group", group, list(groups))])
    except NoDiodeBoardError as error:
        raise Stop(Exit.PROBLEMS, f"{file} {error}") from error
    if as_json:
        raw_data(json.dumps(_content(found), indent=1, ensure_ascii=True) + "\n")
    else:
        for line in _lines(found):
            data(line)
    board = found.board
    contradictions = counted(len(board.contradictions), "contradiction")
    talk(f"{len(board.crossings)} of {len(board.keys)} keys placed, {contradictions}")


def _lines(found: DiodeBoard) -> Iterator[str]:
    """Yield the page, in lines that fit the terminal.  Pins have their numbers once no later reading can move them."""
    board = found.board
    yield from folded(
        f"{found.group}: {len(board.crossings)} of {len(board.keys)} keys have their crossing, on "
        f"{counted(len(board.rows), 'row')} and {counted(len(board.columns), 'column')}"
    )
    if board.crossings:
        yield from _direction(found)
        yield from _pins(found)
    for test in found.not_counted:
        words = f"[?] {_name(found, test.key)} from {test.from_pin} to {test.to_pin} reads {test.volts}: not counted"
        yield from folded(words, "", "    ")
    yield from _next(found)
    yield from _use(found)


def _direction(found: DiodeBoard) -> Iterator[str]:
    yield from folded(f"current enters by a column and leaves by a row, which we pull low; {_DRIVE[found.drive]}")
    order = found.board.order
    if order is not None:
        quick, slow = ("column", "row") if order.entering_changes else ("row", "column")
        yield from folded(f"the {quick} changes with every key, the {slow} after {counted(order.run, 'key')}")
    elif not found.board.regular:
        yield from folded("no regular order fits the readings, so every key has to be read")


def _pins(found: DiodeBoard) -> Iterator[str]:
    board = found.board
    for number, pin in enumerate(found.reuse.row_pins):
        keys = ((key, column) for key, (row, column) in board.crossings.items() if row == pin)
        words = ", ".join(f"{_name(found, key)} at {column}" for key, column in keys)
        place = f"row {number}" if board.complete else "a row"
        yield from folded(f"{place}, pin {pin}: {words}", "  ", "      ")
    columns = ", ".join(
        f"{number} pin {pin}" if board.complete else f"pin {pin}" for number, pin in enumerate(found.reuse.column_pins)
    )
    yield from folded(f"columns: {columns}", "  ", "      ")


def _next(found: DiodeBoard) -> Iterator[str]:
    press = found.board.next_press
    if press is not None:
        yield from folded(
            f"hold {_name(found, press.key)} next, which tells most, and try its pins both ways; "
            f"{counted(len(found.unread), 'press')} at most are left"
        )


def _use(found: DiodeBoard) -> Iterator[str]:
    if found.reuse.reasons:
        yield "cannot be used as it is:"
        for reason in found.reuse.reasons:
            yield from folded(reason, "  [x] ", "      ")
        return
    yield from folded("[+] can be used again: bring its pins to our rows and columns in the order above")
    columns = len(found.reuse.column_pins)
    yield from folded(f'in the job file: wanted.interface = "matrix", wanted.matrix_columns = {columns}', "  ")
    order = _order(found)
    if order != found.board.keys:
        what = "contacts in this order" if found.names else "compass.order"
        yield from folded(f"{what} = [{', '.join(map(str, order))}]", "  ", "      ")


def _order(found: DiodeBoard) -> tuple[int, ...]:
    """Return the key at each contact, row by row, without the empty places at the end."""
    order = found.reuse.contact_order
    filled = max(place for place, key in enumerate(order, 1) if key != NO_KEY)
    return order[:filled]


def _name(found: DiodeBoard, key: int) -> str:
    return f"{found.names[key]} ({key})" if found.names else f"{note_name(key)} {key}"


def _content(found: DiodeBoard) -> dict[str, object]:
    """Return the page for other programs.  Keys are only ever added."""
    board, press, order = found.board, found.board.next_press, found.board.order
    return {
        "group": found.group,
        "keys": list(board.keys),
        "complete": board.complete,
        "regular": board.regular,
        "rows": list(board.rows),
        "columns": list(board.columns),
        "crossings": {str(key): {"row": row, "column": column} for key, (row, column) in board.crossings.items()},
        "order": order and {"column_changes": order.entering_changes, "run": order.run, "begin": order.begin},
        "contradictions": [
            {"kind": one.kind.value, "keys": list(one.keys), "found": one.found, "remedy": one.remedy}
            for one in board.contradictions
        ],
        "not_counted": [
            {"key": test.key, "from_pin": test.from_pin, "to_pin": test.to_pin, "volts": str(test.volts)}
            for test in found.not_counted
        ],
        "unread": list(found.unread),
        "next_press": press and {"key": press.key, "bits": round(press.bits, 6), "pins": round(press.pins, 6)},
        "row_drive": found.drive.value,
        "reuse": {
            "row_pins": list(found.reuse.row_pins),
            "column_pins": list(found.reuse.column_pins),
            "contact_order": list(found.reuse.contact_order),
            "reasons": list(found.reuse.reasons),
        },
    }
