"""The process behind a port: whatever it does, whoever keeps it neither waits nor loses count."""

from __future__ import annotations

import io
import sys
import time
from collections.abc import Callable, Iterator
from itertools import pairwise

import pytest

from retrofit.proving.ports import child as child_file
from retrofit.proving.ports.child import Child
from retrofit.proving.ports.errors import PortError
from retrofit.proving.ports.frames import Kind, Unpacker, packed
from retrofit.proving.ports.system import SteadyLooker, look_once
from retrofit.proving.ports.worker import SLACK_US, ArrivalClock, Inbox

PATIENCE_S = 20.0
HEAD = "import sys, time, json\nfrom retrofit.proving.ports.frames import Kind, packed\nout = sys.stdout.buffer\n"
SAYS = "{'Some': {'inputs': ['a'], 'outputs': [], 'reason': ''}}"


def script(body: str) -> tuple[str, ...]:
    """Return the command of a worker that does what `body` says."""
    return sys.executable, "-c", HEAD + body


def until(done: Callable[[], bool]) -> bool:
    """Wait for something to become true, as long as a very busy machine may need."""
    deadline = time.monotonic() + PATIENCE_S
    while not done() and time.monotonic() < deadline:
        time.sleep(0.01)
    return done()


def test_all_that_a_worker_says_is_received_before_it_has_ended() -> None:
    """A worker that writes a flood and ends at once loses none of it."""
    child = Child((), script("out.write(b''.join(packed(Kind.MESSAGE, n, b'x') for n in range(50_000)))"))
    assert until(lambda: child.ended)
    assert [frame.number for frame in child.frames()] == list(range(50_000))
    child.close()


def test_what_nobody_takes_is_dropped_beyond_a_bound_and_counted() -> None:
    """The newest messages are the ones that find no room."""
    child = Child((), script("out.write(b''.join(packed(Kind.MESSAGE, n) for n in range(100)))"), held_max=30)
    assert until(lambda: child.ended)
    assert (len(child.frames()), child.dropped_here) == (30, 70)
    child.close()


def test_the_library_s_own_overruns_are_counted() -> None:
    """Each complaint of the library that its queue has run over is a message lost at least."""
    words = "MidiInAlsa::alsaMidiHandler: MIDI input buffer overrun!"
    child = Child((), script(f"sys.stderr.write('\\n{words}\\n\\nother talk\\n{words}\\n')"))
    assert until(lambda: child.ended)
    child.close()
    assert child.overruns == 2


def test_a_worker_that_takes_nothing_holds_nobody_up(monkeypatch: pytest.MonkeyPatch) -> None:
    """What is told to it is refused once too much waits; asked to end, it is ended in time."""
    monkeypatch.setattr(child_file, "END_S", 0.3)
    monkeypatch.setattr(child_file, "TOLD_MAX", 8)
    child = Child((), script("time.sleep(600)"))
    begun = time.monotonic()
    told = [child.tell(packed(Kind.MESSAGE, 0, bytes(60_000))) for _ in range(40)]
    assert told[0]
    assert not told[-1]
    child.close()
    assert child.ended
    assert time.monotonic() - begun < PATIENCE_S


def test_a_worker_ends_when_its_keeper_is_gone() -> None:
    """The real worker that looks for ports ends when its input ends, and says what it had been asked for."""
    child = Child(("list",))
    child.close()
    assert child.ended


def test_a_look_that_never_ends_is_given_up() -> None:
    """A sound server that hangs costs a moment and is said."""
    with pytest.raises(PortError, match=r"gave no answer within 0\.2 s"):
        look_once(script("time.sleep(600)"), wait_s=0.2)


@pytest.mark.parametrize("body", ["raise SystemExit(1)", "print('nonsense')", "import os; os.kill(os.getpid(), 11)"])
def test_a_look_that_fails_is_said(body: str) -> None:
    """A worker that fails, talks nonsense or crashes is told as a service that cannot be asked."""
    with pytest.raises(PortError, match="cannot be asked"):
        look_once(script(body))


@pytest.mark.parametrize(
    "body",
    [
        f"for line in sys.stdin: print(json.dumps({SAYS}), flush=True)",
        f"sys.stdin.readline(); print(json.dumps({SAYS}), flush=True); import os; os.kill(os.getpid(), 11)",
        f"sys.stdin.readline(); print(json.dumps({SAYS}), flush=True); time.sleep(600)",
    ],
    ids=["well", "crashes", "hangs"],
)
def test_looking_goes_on_whatever_becomes_of_a_worker(body: str) -> None:
    """A worker that crashes or hangs after a look is replaced, and the looks go on."""
    looker = SteadyLooker(script(body), every_s=0.01, wait_s=0.3)
    assert until(lambda: looker.latest()[0] >= 3)
    seen = looker.latest()[1]
    looker.close()
    assert seen is not None
    assert [port.name for port in seen.inputs] == ["a"]
    assert seen.working == ("Some",)


def ticking(*times: int) -> Iterator[int]:
    """Yield the times of a clock."""
    yield from times


@pytest.mark.parametrize(
    ("times", "steps_s", "stamps"),
    [
        ((1000, 9000, 9500), (0, 0.002, 0.002), [1000, 3000, 5000]),
        ((1000, 2000), (0, 5.0), [1000, 2000]),
        ((1000, 1000 + 2 * SLACK_US), (0, 0.001), [1000, 1000 + 2 * SLACK_US]),
        ((1000, 900, 5000), (0, 0.0, 0.0), [1000, 1000, 1000]),
    ],
    ids=["believed", "not from the future", "not left behind", "never back"],
)
def test_arrival_times_follow_the_library_near_the_steady_clock(
    times: tuple[int, ...], steps_s: tuple[float, ...], stamps: list[int]
) -> None:
    """The library's times between messages are believed as far as they can be true, and time never goes back."""
    clock = ArrivalClock(ticking(*times).__next__)
    given = [clock.stamp(step_s) for step_s in steps_s]
    assert given == stamps
    assert all(earlier <= later for earlier, later in pairwise(given))


def test_an_inbox_neither_grows_without_bound_nor_forgets_what_it_dropped() -> None:
    """Beyond its limit messages are dropped and counted."""
    inbox = Inbox(limit=3)
    for number in range(5):
        inbox(([0x90, number, 1], 0.0))
    assert (inbox.queue.qsize(), inbox.dropped) == (3, 2)


def test_an_inbox_passes_on_everything_and_says_what_it_dropped() -> None:
    """What was heard before the end leaves in order, and the count of what was dropped with it."""
    inbox = Inbox(limit=2, clock=ArrivalClock(ticking(5, 6, 7).__next__))
    for number in range(3):
        inbox(([0x90, number, 1], 0.0))
    inbox.queue.put(None)
    out = io.BytesIO()
    inbox.pass_on(out)
    frames = list(Unpacker().take(out.getvalue()))
    assert [frame.content for frame in frames[:-1]] == [bytes((0x90, 0, 1)), bytes((0x90, 1, 1))]
    assert (frames[-1].kind, frames[-1].number) == (Kind.DROPPED, 1)
