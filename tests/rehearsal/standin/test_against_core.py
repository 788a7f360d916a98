"""The stand-in's board says what the compiled core says: the same messages, in the same order, in the same ticks."""

from __future__ import annotations

import re
from random import Random

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from retrofit.rehearsal.standin.board.board import AGAIN_US
from retrofit.rehearsal.standin.board.events import SLOTS
from retrofit.rehearsal.standin.board.outlet import HOST_BACK_US, IDLE_US, RENEW_US
from retrofit.rehearsal.standin.board.panic import HELD_US
from retrofit.rehearsal.standin.board.shoes import STAGES_EACH_TICK
from tests.firmware.build import CORE
from tests.rehearsal.standin.compiled import CompiledBoard, History, idle_levels, play_standin
from tests.rehearsal.standin.consoles import FAMILIES, FRONT_ENDS, places, plan_of

JOBS = {"families": FAMILIES, "front ends": FRONT_ENDS}
COMPARED = settings(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture], derandomize=True
)
OPENED_TICKS = 600
"""By then the waiting time at the start and what is said behind it are over."""


@pytest.fixture(scope="module", params=sorted(JOBS))
def board(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> tuple[str, CompiledBoard]:
    """A compiled board of each job."""
    plan = plan_of(JOBS[request.param])
    assert plan.errors == ()
    return request.param, CompiledBoard(plan, tmp_path_factory.mktemp("board"))


FLOOD_TICKS = {"families": 20, "front ends": 7}
"""Quicker than the wire, slower than the debounces."""
WAITS = (0, 1, 1, 2, 3, 5, 8, 13, 21, 40, 90, 250)


@st.composite
def histories(draw: st.DrawFn, lanes: int) -> History:
    """Bits that change, some many at once, some while the board starts, a few or many ticks apart."""
    tick = draw(st.sampled_from((0, 100, OPENED_TICKS)))
    history: History = []
    for _ in range(draw(st.integers(1, 25))):
        tick += draw(st.sampled_from(WAITS))
        numbers = draw(st.lists(st.integers(0, lanes - 1), min_size=1, max_size=lanes, unique=True))
        history.append((tick, {lane: draw(st.integers(0, 0xFF)) for lane in numbers}))
    return [*history, (tick + draw(st.sampled_from((1, 100, 900))), {})]


def merged(history: History) -> History:
    """The same with the changes of one tick in one, the later ones winning."""
    found: dict[int, dict[int, int]] = {}
    for tick, changes in history:
        found.setdefault(tick, {}).update(changes)
    return sorted(found.items())


@given(data=st.data())
@COMPARED
def test_same_histories_same_messages(board: tuple[str, CompiledBoard], data: st.DataObject) -> None:
    """Whatever contacts do, from power-on, each message is the same and is given to the wire in the same tick."""
    name, compiled = board
    plan = plan_of(JOBS[name])
    history = merged(data.draw(histories(len(plan.layout.lanes))))
    assert play_standin(plan, history, idle_levels(plan)) == compiled.play(history, idle_levels(plan))


@pytest.mark.parametrize("held", [0x00, 0x0F])
def test_a_flood_overflows_both_alike(board: tuple[str, CompiledBoard], held: int) -> None:
    """All contacts change again and again: the queues overflow, and what is made good comes in the same order.

    Keys that have been held since power-on stay unheard meanwhile.
    """
    name, compiled = board
    plan, random = plan_of(JOBS[name]), Random(3)
    lanes = range(len(plan.layout.lanes))
    idle = [level & ~held & 0xFF for level in idle_levels(plan)]
    flood = [{lane: random.getrandbits(8) & ~held & 0xFF for lane in lanes} for _ in range(150)]
    history = [(OPENED_TICKS + FLOOD_TICKS[name] * number, levels) for number, levels in enumerate(flood)]
    history.append((OPENED_TICKS + 7000, {}))
    assert play_standin(plan, history, idle) == compiled.play(history, idle)
    assert compiled.console.overflowed > 50


@pytest.mark.parametrize(("apart_ms", "chords"), [(100, 30), (290, 6), (310, 6)])
def test_running_status_is_given_up_alike(board: tuple[str, CompiledBoard], apart_ms: int, chords: int) -> None:
    """Chords on one channel, again and again: a status that is sent anew delays what follows by one byte."""
    name, compiled = board
    plan = plan_of(JOBS[name])
    idle = idle_levels(plan)
    apart = apart_ms * 1000 // plan.tick_us
    history = [(OPENED_TICKS + n * apart, {0: idle[0] ^ 0xFF * (n % 2 == 0)}) for n in range(chords)]
    history.append((OPENED_TICKS + chords * apart, {}))
    heard = play_standin(plan, history, idle)
    assert heard == compiled.play(history, idle)
    assert len(heard) > 8 * chords


@pytest.mark.parametrize("board", ["families"], indirect=True)
@pytest.mark.parametrize("held_ticks", [7000, 7993, 7994, 8100])
@pytest.mark.parametrize("from_tick", [0, OPENED_TICKS])
def test_two_pistons_held_silence_everything_alike(
    board: tuple[str, CompiledBoard], held_ticks: int, from_tick: int
) -> None:
    """Two pistons held for 2 s end the notes that sound, and stops and shoes are said again, or just not yet.

    They are sampled every eighth tick, so that the 8000 ticks begin and end with one of these.
    """
    name, compiled = board
    plan = plan_of(JOBS[name])
    idle = idle_levels(plan)
    (lane, one), (_, other) = (places(plan)[point] for point in plan.job.wanted.panic)
    pressed = {0: 0x0F, lane: idle[lane] ^ (1 << one) ^ (1 << other)}
    history = [(from_tick, pressed), (from_tick + held_ticks, {lane: idle[lane]}), (from_tick + 14_000, {})]
    heard = play_standin(plan, history, idle)
    assert heard == compiled.play(history, idle)
    damped = any(message[:2] == (0xB1, 64) for _, message in heard)
    assert damped == (from_tick == OPENED_TICKS and held_ticks > 7993)


def test_sizes_and_times_are_the_cores() -> None:
    """Queues, waits and pauses are those that the core's headers say."""
    text = "".join(path.read_text(encoding="utf-8") for path in sorted(CORE.glob("*.[ch]")))
    found = {name: int(value) for name, value in re.findall(r"#define (\w+) \(?(\d+)u?l?\b", text)}
    assert [found[f"EVENT_SLOTS_{duty.name}"] for duty in SLOTS] == list(SLOTS.values())
    assert found["IDLE_TICKS"] == IDLE_US
    assert found["RENEW_TICKS"] == RENEW_US
    assert found["HOST_BACK_US"] == HOST_BACK_US
    assert found["PANIC_HELD_US"] == HELD_US
    assert found["AGAIN_TICKS"] == AGAIN_US
    assert found["STAGES_EACH_TICK"] == STAGES_EACH_TICK
