"""A matrix whose columns are slow: drive styles, pre-charge, waits that are too short, and a shorted diode."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.firmware.build import CORE
from tests.firmware.console import Console, build_console
from tests.firmware.table_text import COUNTED, MATRIX, NOTES, ConsoleTable, note

ROWS, FIRST_NOTE = 4, 36
FLOATING, PUSH_PULL = 0, 1
SLOW_US, QUICK_US = 30, 6
CHARGE_US = 2


def matrix_table(settle_us: int, drive: int = FLOATING, charge_us: int = 0) -> ConsoleTable:
    """Four rows on port L, columns on port C, counted once each way."""
    masks = [1 << row for row in range(ROWS)]
    return ConsoleTable(
        runs=[(MATRIX, 0, 0, ROWS, 0, 0)],
        groups=[(COUNTED, 1, 1, 1, 0, 0, NOTES, 0, 0, 0)],
        lanes=[(0xFF, 0xFF)] * ROWS,
        messages=[note(0, FIRST_NOTE + contact) for contact in range(8 * ROWS)],
        matrices=[(2, ROWS, [10] * ROWS, masks, settle_us, drive, charge_us, 0xFF)],
        sizes={"COUNTER_PLANES": 1},
    )


def wired(console: Console, charge_us: int = CHARGE_US) -> Console:
    """Wire a matrix whose columns rise in 30 µs by their pull-ups, fall in 3 µs, and rise in 2 µs when driven."""
    console.switch_on()
    for row in range(ROWS):
        wire = console.rows[row]
        wire.port, wire.mask, wire.columns = 10, 1 << row, 2
        wire.settle_us, wire.rise_us, wire.charge_us = 3, SLOW_US, charge_us
    console.run(12)
    console.take()
    return console


def heard_of(console: Console, *held: tuple[int, int]) -> set[int]:
    """Hold keys for a few ticks and return the notes that came on."""
    for row, column in held:
        console.rows[row].closed |= 1 << column
    console.run(40)
    return {number for status, number, _ in console.messages() if status == 0x90}


def notes_of(*held: tuple[int, int]) -> set[int]:
    """Return the notes of keys."""
    return {FIRST_NOTE + 8 * row + column for row, column in held}


ARRANGED = {
    "floating": matrix_table(SLOW_US),
    "floating, charged": matrix_table(QUICK_US, charge_us=CHARGE_US),
    "driven": matrix_table(SLOW_US, PUSH_PULL),
    "driven, charged": matrix_table(QUICK_US, PUSH_PULL, CHARGE_US),
}


@pytest.mark.parametrize("name", ARRANGED)
def test_each_way_of_driving_hears_every_key_alone(tmp_path: Path, name: str) -> None:
    """Every key is heard as itself and as nothing else, and no column is ever read between its levels."""
    console = wired(build_console(tmp_path, ARRANGED[name]))
    for row in range(ROWS):
        for column in range(8):
            assert heard_of(console, (row, column)) == notes_of((row, column))
            console.rows[row].closed = 0
            console.run(12)
            console.take()
    assert (console.between, console.fights) == (0, 0)


@pytest.mark.parametrize("name", ARRANGED)
def test_a_full_hand_is_heard_in_one_tick(tmp_path: Path, name: str) -> None:
    """Keys of one column in every row are told apart, though each row finds it as the last one left it."""
    console = wired(build_console(tmp_path, ARRANGED[name]))
    held = ((0, 1), (1, 1), (3, 1), (0, 2), (2, 7))
    assert heard_of(console, *held) == notes_of(*held)
    assert (console.between, console.fights) == (0, 0)


@pytest.mark.parametrize("drive", [FLOATING, PUSH_PULL])
def test_a_wait_too_short_for_the_pull_ups_invents_keys(tmp_path: Path, drive: int) -> None:
    """Without pre-charge the short wait reads what the row before held low: the key below it seems down too."""
    console = wired(build_console(tmp_path, matrix_table(QUICK_US, drive)))
    invented = heard_of(console, (0, 3)) - notes_of((0, 3))
    assert invented == notes_of((1, 3))
    assert console.between > 0


def test_firmware_that_forgets_the_pre_charge_is_noticed(tmp_path: Path) -> None:
    """With the charging taken out of the firmware the same table invents keys."""
    text = (CORE / "matrix.c").read_text(encoding="utf-8")
    call = "    columns_charge(matrix);\n"
    assert text.count(call) == 1
    spoilt = tmp_path / "spoilt"
    spoilt.mkdir()
    broken = text.replace(call, "    (void)columns_charge;\n")
    (spoilt / "matrix.c").write_text(broken, encoding="utf-8")
    console = wired(build_console(tmp_path, ARRANGED["floating, charged"], patched=spoilt))
    assert heard_of(console, (0, 3)) != notes_of((0, 3))


def test_firmware_that_charges_before_it_gives_up_the_row_is_noticed(tmp_path: Path) -> None:
    """Columns that are driven while a held key joins one to a low row: outputs fight, and the model counts it."""
    text = (CORE / "matrix.c").read_text(encoding="utf-8")
    order = "    row_give_up(drive, port, mask);\n    columns_charge(matrix);\n"
    assert text.count(order) == 1
    spoilt = tmp_path / "spoilt"
    spoilt.mkdir()
    broken = text.replace(order, "    columns_charge(matrix);\n    row_give_up(drive, port, mask);\n")
    (spoilt / "matrix.c").write_text(broken, encoding="utf-8")
    console = wired(build_console(tmp_path, ARRANGED["floating, charged"], patched=spoilt))
    heard_of(console, (0, 3))
    assert console.fights > 0


def test_a_shorted_diode_makes_the_other_key_of_its_column_drop_out(tmp_path: Path) -> None:
    """With rows driven, a shorted diode plays alone; with it a second key of its column fights and is not heard."""
    console = wired(build_console(tmp_path, ARRANGED["driven"]))
    console.rows[0].shorted = 1 << 3
    assert heard_of(console, (0, 3)) == notes_of((0, 3))
    assert console.fights == 0
    assert heard_of(console, (1, 3)) == set()
    assert console.fights > 0
    assert heard_of(console, (1, 4)) == notes_of((1, 4)), "another column is heard"
