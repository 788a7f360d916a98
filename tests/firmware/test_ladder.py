"""A stepped shoe on a ladder: stretches of readings, what lies between two contacts, and contacts that bounce."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from tests.firmware.console import Console, build_console
from tests.firmware.table_text import ConsoleTable

STRETCHES = ((100, 127), (300, 85), (500, 42), (700, 0), (1023, 0xFF))
"""Greatest count and value: four positions, and above them nothing joined, which keeps the last value."""
AGREE = 4
CYCLE_TICKS = 4
"""Ticks from one reading to the next on the pretended board, whose conversions take two."""
HIGHEST = 1000


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Console:
    """A console of one shoe on a ladder, with a second one behind it whose rows begin later."""
    rows = [*STRETCHES, (400, 127), (1023, 0)]
    shoes = [
        (3, 5, 0xB0, 11, 0, len(STRETCHES), 0, AGREE, 0, HIGHEST, 0, (0,), (0,)),
        (3, 6, 0xB0, 16, 0, 2, len(STRETCHES), AGREE, 0, 1023, 0, (0,), (0,)),
    ]
    table = ConsoleTable(shoes=shoes, ladders=rows, sizes={"SHOE_INTERVAL_TICKS": 1})
    return build_console(tmp_path_factory.mktemp("ladder"), table)


@pytest.fixture
def console(built: Console) -> Console:
    """The console, its first shoe at its closed end."""
    built.switch_on()
    built.counts[5], built.counts[6] = 600, 700
    built.run(200)
    built.take()
    return built


def heard(console: Console, controller: int = 11) -> list[int]:
    """Values of a shoe sent since the last call."""
    return [value for status, number, value in console.messages() if (status, number) == (0xB0, controller)]


def moved(console: Console, counts: int, ticks: int = 100) -> list[int]:
    """Put the first shoe at `counts`; return the values sent."""
    console.counts[5] = counts
    console.run(ticks)
    return heard(console)


@pytest.mark.parametrize(
    ("counts", "value"), [(0, 127), (100, 127), (101, 85), (300, 85), (301, 42), (500, 42), (501, 0), (700, 0)]
)
def test_each_stretch_has_its_value(console: Console, counts: int, value: int) -> None:
    """A stretch goes up to and includes its count."""
    moved(console, 400 if value != 42 else 50)
    assert moved(console, counts) == [value]


def test_between_two_contacts_the_last_value_stays(console: Console) -> None:
    """Break before make: from one contact to the next nothing is joined for a while, which is not the closed end."""
    assert moved(console, 200) == [85]
    assert moved(console, 900) == []
    assert moved(console, 400) == [42]


def test_a_ladder_that_stands_between_contacts_at_power_on_is_not_sent(console: Console) -> None:
    """Until a contact was read the value is unknown, and nothing is sent."""
    console.switch_on()
    console.counts[5] = 900
    console.run(300)
    assert heard(console) == []


def test_a_short_visit_to_a_stretch_is_not_believed(console: Console) -> None:
    """A reading less than those that must agree, as of a bouncing contact or a charging line, changes nothing."""
    cycle = 2 * CYCLE_TICKS
    assert moved(console, 400, (AGREE - 2) * cycle) == []
    assert moved(console, 600) == []
    assert moved(console, 400, (AGREE + 2) * cycle) == [42]


def test_chatter_between_two_stretches_is_silent_until_it_ends(console: Console) -> None:
    """Readings that fall by chance into one stretch or another, none of them twice in a row, send nothing."""
    chance, found = random.Random(8), []
    for turn in range(60):
        found += moved(console, (200, 400, 900)[turn % 3], chance.randint(8, 10))
    assert found == []
    assert moved(console, 200) == [85]


def test_a_broken_line_keeps_the_last_value_and_is_counted(console: Console) -> None:
    """Above the bounds the line is broken: the shoe stays where it was."""
    moved(console, 200)
    assert moved(console, 1020) == []
    assert (console.shoe_faults, console.shoe_is_broken(0)) == (1, 1)


def test_the_second_ladder_reads_its_own_rows(console: Console) -> None:
    """Rows of a later shoe begin where the table says, and it is read on its own channel."""
    console.counts[6] = 300
    console.run(200)
    assert heard(console, 16) == [127]


def test_one_row_too_far_would_be_noticed(tmp_path: Path) -> None:
    """A table whose shoe begins a row late sends other values."""
    shoes = [(3, 5, 0xB0, 11, 0, len(STRETCHES) - 1, 1, AGREE, 0, HIGHEST, 0, (0,), (0,))]
    late = build_console(tmp_path, ConsoleTable(shoes=shoes, ladders=STRETCHES))
    late.counts[5] = 50
    late.run(300)
    assert heard(late) == [85]
