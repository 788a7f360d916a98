"""Majority of a run: a roller whose contacts are dirty, decoded as the words say, whatever its contacts do."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.firmware.console import Console, build_console
from tests.firmware.table_text import CHAIN, COUNTED, STAGES, ConsoleTable, note

STAGE_COUNT = 20
REGISTERS = 3
ROLLER = settings(
    max_examples=120, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.function_scoped_fixture]
)


@pytest.fixture(scope="module")
def console(tmp_path_factory: pytest.TempPathFactory) -> Console:
    """A console of one roller of twenty stages, believed at their second sample."""
    table = ConsoleTable(
        runs=[(CHAIN, 0, 0, REGISTERS, 0, 0)],
        groups=[(COUNTED, 2, 2, 1, 0, 0, STAGES, 0, 0, 0)],
        lanes=[(0xFF, 0), (0xFF, 0), (0x0F, 0)],
        messages=[note(0, bit) for bit in range(8 * REGISTERS)],
        shoes=[(1, 0, 0xB0, 16, 0, STAGE_COUNT, 0, 0, 0, 0, 0, (0,), (0,))],
        stages=range(STAGE_COUNT),
        sizes={"REGISTER_COUNT": REGISTERS, "COUNTER_PLANES": 2, "SHOE_INTERVAL_TICKS": 1},
    )
    return build_console(tmp_path_factory.mktemp("roller"), table)


def value_of(console: Console, on: set[int]) -> int:
    """The value that a roller just switched on sends with exactly these stages (from 1) closed."""
    console.switch_on()
    for register in range(REGISTERS):
        console.registers[register] = sum(1 << bit for bit in range(8) if 8 * register + bit + 1 in on)
    console.run(60)
    return [value for status, number, value in console.messages() if (status, number) == (0xB0, 16)][-1]


def step_value(step: int) -> int:
    """Value of a step, to the nearest."""
    return round(step * 127 / STAGE_COUNT + 1e-9)


def step_of(on: set[int]) -> int:
    """The highest closed stage of which, with itself, at least all but one of the stages up to it are closed."""
    steps = [k for k in on if len(on & set(range(1, k + 1))) >= k - 1]
    return max(steps, default=0)


STAGE_SETS = st.one_of(
    st.sets(st.integers(1, STAGE_COUNT)),
    st.tuples(st.integers(0, STAGE_COUNT), st.sets(st.integers(1, STAGE_COUNT), max_size=4)).map(
        lambda drawn: set(range(1, drawn[0] + 1)) ^ drawn[1]
    ),
)


@ROLLER
@given(on=STAGE_SETS)
def test_any_contacts_are_decoded_as_the_words_say(console: Console, on: set[int]) -> None:
    """Any set of closed stages: the step is the one of the definition, sent as its share of 127."""
    assert value_of(console, on) == step_value(step_of(on))


@ROLLER
@given(reached=st.integers(2, STAGE_COUNT), dirty=st.data())
def test_one_dirty_contact_below_changes_nothing(console: Console, reached: int, dirty: st.DataObject) -> None:
    """A run up to a stage with any one contact below it open gives that stage."""
    missing = dirty.draw(st.integers(1, reached - 1))
    assert value_of(console, set(range(1, reached + 1)) - {missing}) == step_value(reached)


@ROLLER
@given(reached=st.integers(0, STAGE_COUNT - 3), far=st.data())
def test_one_welded_contact_far_above_changes_nothing(console: Console, reached: int, far: st.DataObject) -> None:
    """A stage that is closed two or more above the end of the run is not believed."""
    welded = far.draw(st.integers(reached + 3, STAGE_COUNT))
    assert value_of(console, {*range(1, reached + 1), welded}) == step_value(reached)


@pytest.mark.parametrize("broken", [None, 7, 20])
def test_the_roller_never_turns_back(console: Console, broken: int | None) -> None:
    """Rolled from one end to the other, with one contact dead or without, values only rise."""
    positions = [{*range(1, reached + 1)} - {broken} for reached in range(STAGE_COUNT + 1)]
    values = [value_of(console, on) for on in positions]
    assert all(lower <= upper for lower, upper in pairwise(values))
