"""A port that is kept open, by workers that fail in every way."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence

import pytest

from retrofit.proving.ports import kept
from retrofit.proving.ports.child import Child
from retrofit.proving.ports.errors import PortError
from retrofit.proving.ports.kept import KeptPort
from retrofit.proving.ports.names import PortName
from retrofit.proving.ports.system import BackEnd, PortsSeen
from tests.proving.test_ports_child import script, until

PORT = PortName("Some", "console 20:0")
OPENS = "out.write(packed(Kind.OPENED)); out.flush()\n"
NEVER_ENDS = "time.sleep(600)"
SERVES = OPENS + "sys.stdin.read()"


class Looks:
    """What is looked at: a list of ports that a test changes; each asking is a new look."""

    def __init__(self) -> None:
        self.inputs: tuple[PortName, ...] = (PORT,)
        self.looks = 0

    def seen(self) -> PortsSeen:
        """Return the ports that are there."""
        return PortsSeen(self.inputs, (), (BackEnd("Some", ""),))

    def latest(self) -> tuple[int, PortsSeen | None]:
        """Return a new look."""
        self.looks += 1
        return self.looks, self.seen()

    def close(self) -> None:
        """Nothing is to be closed."""


Opener = Callable[..., KeptPort]


@pytest.fixture
def looks() -> Looks:
    """Give a computer with one port."""
    return Looks()


@pytest.fixture
def opened(monkeypatch: pytest.MonkeyPatch, looks: Looks) -> Opener:
    """Open the port by workers that do, one after the other, what their bodies say."""
    monkeypatch.setattr(kept, "look_once", looks.seen)

    def by(*bodies: str) -> KeptPort:
        left = list(bodies)

        def next_worker(arguments: Sequence[str]) -> Child:
            return Child(arguments, script(left.pop(0)))

        monkeypatch.setattr(kept, "Child", next_worker)
        return KeptPort("in", "console", looks)

    return by


def tended(port: KeptPort, away: bool) -> bool:
    """Tend a port until it is away or there."""

    def asked() -> bool:
        port.tend()
        return port.away == away

    return until(asked)


@pytest.mark.parametrize(
    ("body", "words"),
    [
        ("out.write(packed(Kind.FAILED, 0, b'somebody else has it'))", r"cannot be opened \(somebody else has it\)"),
        ("raise SystemExit(1)", "console 20:0 cannot be opened; retrofit ports lists"),
        (NEVER_ENDS, "console 20:0 cannot be opened; retrofit ports lists"),
    ],
    ids=["refused", "crashes", "never answers"],
)
def test_a_port_that_cannot_be_opened_is_said(
    opened: Opener, monkeypatch: pytest.MonkeyPatch, body: str, words: str
) -> None:
    """Whatever the reason, there is an answer in a bounded time."""
    monkeypatch.setattr(kept, "OPEN_S", 0.5)
    with pytest.raises(PortError, match=words):
        opened(body)


def test_an_opening_that_never_answers_is_given_up_and_tried_again(
    opened: Opener, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A worker dies, its successor hangs while it opens, and the next one opens the port."""
    monkeypatch.setattr("retrofit.proving.ports.child.END_S", 0.3)
    port = opened(OPENS, NEVER_ENDS, SERVES, SERVES)
    monkeypatch.setattr(kept, "OPEN_S", 2.0)
    assert tended(port, away=True)
    begun = time.monotonic()
    assert tended(port, away=False)
    assert time.monotonic() - begun >= 1.0
    port.close()


def test_a_device_under_another_number_is_opened_there(opened: Opener, looks: Looks) -> None:
    """It goes away, comes back with a new number, and is called by that."""
    port = opened(SERVES, SERVES)
    looks.inputs = ()
    assert tended(port, away=True)
    looks.inputs = (PortName("Some", "console 28:0"),)
    assert tended(port, away=False)
    assert port.port.name == "console 28:0"
    port.close()


def test_what_was_lost_before_a_gap_still_counts_after_it(opened: Opener) -> None:
    """Losses of every worker are added up."""
    port = opened(
        OPENS + "out.write(packed(Kind.DROPPED, 7)); sys.stderr.write('overrun!\\n')",
        OPENS + "out.write(packed(Kind.DROPPED, 2)); out.write(packed(Kind.DROPPED, 5)); out.flush(); sys.stdin.read()",
    )
    assert tended(port, away=True)
    assert tended(port, away=False)
    assert until(lambda: port.tend() == [] and port.dropped == 7 + 1 + 5)
    port.close()
    assert port.dropped == 13
