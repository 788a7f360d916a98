"""The compiled debounce: worked examples with their figures, and bit for bit against the Python model."""

from __future__ import annotations

import random
from collections.abc import Sequence
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from retrofit.timing.samples import Counted, FirstEdge, Integrator
from retrofit.timing.trace import Sampler
from tests.firmware.build import CORE
from tests.firmware.console import Console, build_console
from tests.firmware.table_text import CHAIN, COUNTED, FIRST_EDGE, INTEGRATOR, NOTES, ConsoleTable, note

HOLDS = (8, 1, 2, 5, 11, 255)
COUNTS = ((1, 1), (5, 5), (2, 12), (1, 7), (63, 63), (4, 31))
LEADS = ((8, 8), (1, 1), (2, 12), (5, 1), (63, 63), (31, 4))
LANES = len(HOLDS) + len(COUNTS) + len(LEADS)
MODEL_SETTINGS = settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture], derandomize=True
)


def debounce_table() -> ConsoleTable:
    """One register for each pair of COUNTS, each hold-off of HOLDS and each pair of LEADS, sampled every tick."""
    counted = [(COUNTED, press, release, 1, 0, 0, NOTES, 0, 0, 0) for press, release in COUNTS]
    first_edge = [(FIRST_EDGE, 1, 1, hold, 0, 0, NOTES, 0, 8 * i, 8) for i, hold in enumerate(HOLDS)]
    leading = [(INTEGRATOR, press, release, 1, 0, 0, NOTES, 0, 0, 0) for press, release in LEADS]
    return ConsoleTable(
        runs=[(CHAIN, 0, lane, 1, lane, lane) for lane in range(LANES)],
        groups=counted + first_edge + leading,
        lanes=[(0xFF, 0)] * LANES,
        messages=[note(lane, bit) for lane in range(LANES) for bit in range(8)],
        sizes={"REGISTER_COUNT": LANES, "HOLD_SLOTS": 8 * len(HOLDS), "COUNTER_PLANES": 6},
    )


@pytest.fixture(scope="module")
def console(tmp_path_factory: pytest.TempPathFactory) -> Console:
    """The console of `debounce_table`."""
    return build_console(tmp_path_factory.mktemp("debounce"), debounce_table())


def play(console: Console, lane: int, samples: Sequence[int]) -> list[int]:
    """Feed bytes of samples to a lane from power-on; return the debounced byte after each."""
    console.switch_on()
    for register in range(LANES):
        console.registers[register] = 0
    states = []
    for sample in samples:
        console.registers[lane] = sample
        console.run()
        states.append(console.state(lane))
    return states


def events(states: Sequence[int]) -> list[tuple[int, str]]:
    """Changes of contact 0 as (sample number from 0, "on" or "off")."""
    bits = [0, *(state & 1 for state in states)]
    return [(i, "on" if bits[i + 1] else "off") for i in range(len(states)) if bits[i + 1] != bits[i]]


def first_edge(hold: int) -> int:
    """Lane whose group has this hold-off."""
    return len(COUNTS) + HOLDS.index(hold)


def counted(press: int, release: int) -> int:
    """Lane whose group has these counts."""
    return COUNTS.index((press, release))


def integrator(press: int, release: int) -> int:
    """Lane whose group has these limits."""
    return len(COUNTS) + len(HOLDS) + LEADS.index((press, release))


def test_d1_quick_restrike_is_lost_within_the_hold_off(console: Console) -> None:
    """D1: press 3, gap 3, press 10 samples with a hold-off of 8 give one note, on at sample 5 and off at 21."""
    samples = [0] * 5 + [1] * 3 + [0] * 3 + [1] * 10 + [0] * 20
    assert events(play(console, first_edge(8), samples)) == [(5, "on"), (21, "off")]


def test_d1_short_tap_is_reported_as_long_as_the_hold_off(console: Console) -> None:
    """D1: a tap of 3 samples sounds for 8, and the shortest strict period, 8 on and 8 off, loses no stroke."""
    assert events(play(console, first_edge(8), [1] * 3 + [0] * 20)) == [(0, "on"), (8, "off")]
    strokes = ([1] * 8 + [0] * 8) * 5
    assert len(events(play(console, first_edge(8), strokes))) == 10


def test_d2_bounce_longer_than_the_hold_off_strikes_twice(console: Console) -> None:
    """D2: hold-off 5 against a bounce of 11 samples gives on 5, off 11, on 16; hold-off 11 gives one stroke."""
    samples = [0] * 5 + [1, 0, 1, 0, 1, 1, 0, 0, 1, 0, 1] + [1] * 20
    assert events(play(console, first_edge(5), samples)) == [(5, "on"), (11, "off"), (16, "on")]
    assert events(play(console, first_edge(11), samples)) == [(5, "on")]


@pytest.mark.parametrize(("pulse", "heard"), [(4, []), (5, [(4, "on"), (9, "off")])])
def test_d3_consecutive_samples_decide(console: Console, pulse: int, heard: list[tuple[int, str]]) -> None:
    """D3: with 5 in a row a pulse seen 4 times is rejected, one seen 5 times is accepted at its fifth sample."""
    assert events(play(console, counted(5, 5), [1] * pulse + [0] * 20)) == heard


def test_d4_continual_chatter_never_fires(console: Console) -> None:
    """D4: 3 on and 1 off, repeated, never gives 5 in a row."""
    assert events(play(console, counted(5, 5), [1, 1, 1, 0] * 50)) == []


def test_d4_an_integrator_hears_continual_chatter(console: Console) -> None:
    """D4: 3 on and 1 off, repeated, reach a limit of 8 at the 14th sample and hold there."""
    assert events(play(console, integrator(8, 8), [1, 1, 1, 0] * 50)) == [(13, "on")]


@pytest.mark.parametrize(("gap", "heard"), [(11, [(1, "on")]), (12, [(1, "on"), (31, "off"), (33, "on")])])
def test_d5_asymmetric_counts(console: Console, gap: int, heard: list[tuple[int, str]]) -> None:
    """D5: 2 to press and 12 to release: a dropout of 11 samples breaks nothing, one of 12 gives off and then on."""
    samples = [1] * 20 + [0] * gap + [1] * 30
    assert events(play(console, counted(2, 12), samples)) == heard


def model_states(models: Sequence[Sampler], samples: Sequence[int]) -> list[int]:
    """What eight models, one for each bit, make of bytes of samples."""
    state = 0
    states = []
    for sample in samples:
        for bit, model in enumerate(models):
            changed = model.sample(bool(sample >> bit & 1))
            if changed is not None:
                state = state & ~(1 << bit) | changed << bit
        states.append(state)
    return states


def bouncing() -> st.SearchStrategy[list[int]]:
    """Samples of eight contacts in stretches, some long enough for the longest count, some a single sample."""
    stretch = st.tuples(st.integers(0, 255), st.sampled_from((1, 1, 1, 2, 3, 4, 5, 7, 8, 11, 12, 30, 62, 63, 64, 260)))
    return st.lists(stretch, max_size=25).map(lambda parts: [byte for byte, count in parts for _ in range(count)])


def chattering() -> st.SearchStrategy[list[int]]:
    """Samples of eight contacts that drift up and down by chance, so that leads stand everywhere."""
    return st.tuples(st.integers(0, 2**32), st.integers(1, 9)).map(_chatter)


def _chatter(drawn: tuple[int, int]) -> list[int]:
    seed, tenths = drawn
    chance = random.Random(seed)
    shares = [tenths / 10] * 200 + [1 - tenths / 10] * 200
    return [sum((chance.random() < share) << bit for bit in range(8)) for share in shares]


@pytest.mark.parametrize("hold", HOLDS)
@MODEL_SETTINGS
@given(samples=bouncing())
def test_first_edge_equals_the_model(console: Console, hold: int, samples: list[int]) -> None:
    """The compiled first-edge family and the Python model, written apart from one text, agree on every sample."""
    assert play(console, first_edge(hold), samples) == model_states([FirstEdge(hold) for _ in range(8)], samples)


@pytest.mark.parametrize(("press", "release"), COUNTS)
@MODEL_SETTINGS
@given(samples=bouncing())
def test_counted_equals_the_model(console: Console, press: int, release: int, samples: list[int]) -> None:
    """The compiled counters and the Python model agree on every sample."""
    models = [Counted(press, release) for _ in range(8)]
    assert play(console, counted(press, release), samples) == model_states(models, samples)


@pytest.mark.parametrize(("press", "release"), LEADS)
@MODEL_SETTINGS
@given(samples=st.one_of(bouncing(), chattering()))
def test_the_integrator_equals_the_model(console: Console, press: int, release: int, samples: list[int]) -> None:
    """The compiled integrator, which keeps a lead, and the Python model, which keeps a height, always agree."""
    models = [Integrator(press, release) for _ in range(8)]
    assert play(console, integrator(press, release), samples) == model_states(models, samples)


@pytest.mark.parametrize("wrong", [-1, 1])
def test_a_count_that_is_off_by_one_is_caught(console: Console, wrong: int) -> None:
    """The comparison fails for a model whose count is one less or one more, in every family."""
    samples = ([255] * 3 + [0] * 3 + [255] * 20 + [0] * 4 + [255] * 5 + [0] * 30) * 2
    eight = [FirstEdge(8 + wrong) for _ in range(8)]
    assert play(console, first_edge(8), samples) != model_states(eight, samples)
    five = [Counted(5 + wrong, 5 + wrong) for _ in range(8)]
    assert play(console, counted(5, 5), samples) != model_states(five, samples)
    eight_leads = [Integrator(8 + wrong, 8 + wrong) for _ in range(8)]
    assert play(console, integrator(8, 8), samples) != model_states(eight_leads, samples)


def patched_groups(folder: Path, right: str, wrong: str) -> Path:
    """A folder with the core's groups.c, `right` replaced by `wrong`."""
    source = (CORE / "groups.c").read_text(encoding="utf-8")
    assert source.count(right) == 1
    (folder / "groups.c").write_text(source.replace(right, wrong), encoding="utf-8")
    return folder


def test_a_core_that_counts_one_less_is_caught(tmp_path: Path) -> None:
    """A core whose hold-off is one sample too short no longer equals the model."""
    right = "flash_read_byte(&group->hold_count) : 0;"
    wrong = "(uint8_t)(flash_read_byte(&group->hold_count) - 1) : 0;"
    broken = build_console(tmp_path, debounce_table(), patched=patched_groups(tmp_path, right, wrong))
    samples = [0] * 5 + [1] * 3 + [0] * 40
    assert play(broken, first_edge(8), samples) != model_states([FirstEdge(8) for _ in range(8)], samples)


def two_periods_table() -> ConsoleTable:
    """A counted group sampled every second tick, then one first-edge contact sampled on every tick."""
    return ConsoleTable(
        runs=[(CHAIN, 0, 0, 1, 0, 0), (CHAIN, 0, 1, 1, 1, 1)],
        groups=[(COUNTED, 3, 3, 1, 1, 0, NOTES, 0, 0, 0), (FIRST_EDGE, 1, 1, 100, 0, 0, NOTES, 0, 0, 1)],
        lanes=[(0xFF, 0), (0x01, 0)],
        messages=[note(lane, bit) for lane in range(2) for bit in range(8)],
        sizes={"REGISTER_COUNT": 2, "HOLD_SLOTS": 1, "COUNTER_PLANES": 2},
    )


CHATTER = random.Random(5).choices((0, 1), k=1500)
"""Samples of one contact, long enough for numbers of samples modulo 256 to meet in every way."""


def test_groups_without_hold_offs_leave_those_of_others_alone(tmp_path: Path) -> None:
    """A first-edge group beside a counted one of another period equals the model over a long time."""
    states = play(build_console(tmp_path, two_periods_table()), 1, CHATTER)
    assert [state & 1 for state in states] == model_states([FirstEdge(100)], CHATTER)


def neighbours_table() -> ConsoleTable:
    """Two first-edge groups of one contact each: the first on every tick, the second on every other."""
    return ConsoleTable(
        runs=[(CHAIN, 0, 0, 1, 0, 0), (CHAIN, 0, 1, 1, 1, 1)],
        groups=[(FIRST_EDGE, 1, 1, 8, 0, 0, NOTES, 0, 0, 1), (FIRST_EDGE, 1, 1, 8, 1, 0, NOTES, 0, 1, 1)],
        lanes=[(0x01, 0), (0x01, 0)],
        messages=[note(lane, bit) for lane in range(2) for bit in range(8)],
        sizes={"REGISTER_COUNT": 2, "HOLD_SLOTS": 2},
    )


TWO_STROKES = [0] * 5 + [1] * 15 + [0] * 15 + [1] * 15


def test_the_hold_offs_of_neighbouring_groups_keep_apart(tmp_path: Path) -> None:
    """Two strokes on the first of two groups, each of which has a single hold-off, equal the model."""
    states = play(build_console(tmp_path, neighbours_table()), 0, TWO_STROKES)
    assert [state & 1 for state in states] == model_states([FirstEdge(8)], TWO_STROKES)


def test_a_core_whose_hold_offs_run_into_those_of_the_next_group_is_caught(tmp_path: Path) -> None:
    """Without the slot between the rings of two groups the core no longer equals the model."""
    patched = patched_groups(tmp_path, " + rings_before)", " + 0u * rings_before)")
    broken = build_console(tmp_path, neighbours_table(), patched=patched)
    states = play(broken, 0, TWO_STROKES)
    assert [state & 1 for state in states] != model_states([FirstEdge(8)], TWO_STROKES)
