"""Reading: the chain with gaps and groups of different periods, matrices, ports."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.firmware.console import Console, build_console
from tests.firmware.table_text import CHAIN, COUNTED, FIRST_EDGE, NOTES, ConsoleTable, note


@pytest.fixture
def playing(sample: Console) -> Console:
    """The sample console past its start, with its matrix wired."""
    sample.ports[0] = 0x0F
    for row, mask in enumerate((0x01, 0x02)):
        sample.rows[row].port, sample.rows[row].mask, sample.rows[row].columns = 10, mask, 2
        sample.rows[row].settle_us = 10
    sample.run(400)
    sample.take()
    return sample


def test_a_register_of_no_run_is_shifted_through(playing: Console) -> None:
    """Register 3 belongs to no run: what it holds is heard nowhere, and register 4 is still the stops."""
    playing.registers[3] = 0x00
    playing.run(20)
    assert playing.messages() == []
    playing.registers[4] = 0xFE
    playing.run(20)
    assert playing.messages() == [(0xB2, 20, 127)]


def test_an_unused_bit_is_never_looked_at(playing: Console) -> None:
    """Bit 7 of register 2 belongs to no point: it may do what it likes."""
    for level in (0x7F, 0xFF) * 10:
        playing.registers[2] = level
        playing.run(3)
    assert playing.messages() == []
    assert playing.state(2) == 0


@pytest.mark.parametrize("row", [0, 1])
@pytest.mark.parametrize("column", range(8))
def test_every_crossing_of_the_matrix_is_its_own_key(playing: Console, row: int, column: int) -> None:
    """A closed contact pulls its column low while its row is driven, and only then."""
    playing.rows[row].closed = 1 << column
    playing.run(20)
    playing.rows[row].closed = 0
    playing.run(20)
    number = 60 + 8 * row + column
    assert playing.messages() == [(0x94, number, 100), (0x84, number, 64)]


def test_a_matrix_that_settles_too_slowly_reads_nothing(playing: Console) -> None:
    """The columns are read after the stated wait and not later: a matrix that needs 11 microseconds is not heard."""
    playing.rows[0].settle_us = 11
    playing.rows[0].closed = 0xFF
    playing.run(20)
    assert playing.messages() == []


def test_port_bits_have_their_own_polarity(playing: Console) -> None:
    """The lower half of port A is on when low, the upper half when high."""
    playing.ports[0] = 0x0F & ~0x02
    playing.run(20)
    playing.ports[0] = 0x0F | 0x40
    playing.run(20)
    assert playing.messages() == [(0xC3, 1), (0xC3, 6)]


def periods_table() -> ConsoleTable:
    """Four registers sampled every 1, 2, 4 and 64 ticks at chosen phases, counted 1 each way; a gap before the last."""
    plan = [(0, 0), (1, 1), (2, 3), (6, 37)]
    return ConsoleTable(
        runs=[(CHAIN, 0, lane, 1, lane, lane if lane < 3 else 5) for lane in range(4)],
        groups=[(COUNTED, 1, 1, 1, divider, phase, NOTES, 0, 0, 0) for divider, phase in plan],
        lanes=[(0xFF, 0)] * 4,
        messages=[note(lane, bit) for lane in range(4) for bit in range(8)],
        sizes={"REGISTER_COUNT": 6, "COUNTER_PLANES": 1},
    )


@pytest.fixture(scope="module")
def periods(tmp_path_factory: pytest.TempPathFactory) -> Console:
    """The console of `periods_table`."""
    return build_console(tmp_path_factory.mktemp("periods"), periods_table())


@pytest.mark.parametrize(
    ("lane", "register", "every", "phase"), [(0, 0, 1, 0), (1, 1, 2, 1), (2, 2, 4, 3), (3, 5, 64, 37)]
)
def test_a_group_is_sampled_on_its_ticks_alone(
    periods: Console, lane: int, register: int, every: int, phase: int
) -> None:
    """A contact that changes before every tick is seen on the ticks of its group and on no other."""
    periods.switch_on()
    seen = []
    for tick in range(300):
        for other in range(6):
            periods.registers[other] = 0
        periods.registers[register] = 0xFF if tick % every == phase else 0x00
        before = periods.state(lane)
        periods.run()
        if periods.state(lane) != before:
            seen.append(tick)
    if every == 1:
        assert seen == [0]
    else:
        assert seen == [phase], "on at the first sample, and every later sample agrees"


@pytest.mark.parametrize(("tick", "shifted"), [(0, 1), (1, 2), (2, 1), (3, 3), (37, 6), (38, 1)])
def test_shifting_stops_behind_the_last_run_that_is_due(periods: Console, tick: int, shifted: int) -> None:
    """Registers beyond the last one that is due are not read; those before it are shifted through."""
    periods.switch_on()
    periods.run(tick + 1)
    assert periods.shifted == shifted


def test_hold_offs_of_two_groups_end_apart(tmp_path: Path) -> None:
    """Groups of different hold-off and period keep their own time."""
    table = ConsoleTable(
        runs=[(CHAIN, 0, 0, 1, 0, 0), (CHAIN, 0, 1, 1, 1, 1)],
        groups=[(FIRST_EDGE, 1, 1, 3, 0, 0, NOTES, 0, 0, 8), (FIRST_EDGE, 1, 1, 2, 2, 1, NOTES, 0, 8, 8)],
        lanes=[(0xFF, 0)] * 2,
        messages=[note(lane, bit) for lane in range(2) for bit in range(8)],
        sizes={"REGISTER_COUNT": 2, "HOLD_SLOTS": 16},
    )
    console = build_console(tmp_path, table)
    changes: list[tuple[int, int, int]] = []
    for tick in range(24):
        level = 0xFF if tick < 2 else 0x00
        console.registers[0] = console.registers[1] = level
        before = [console.state(0), console.state(1)]
        console.run()
        changes += [(lane, tick, console.state(lane)) for lane in (0, 1) if console.state(lane) != before[lane]]
    assert changes == [(0, 0, 255), (1, 1, 255), (0, 3, 0), (1, 9, 0)]
