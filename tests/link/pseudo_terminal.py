"""A pseudo-terminal with something on its far end: the port that a command opens is real, the board is not."""

from __future__ import annotations

import os
import pty
import select
import threading
import time
import tty
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress

Behaviour = Callable[[bytes], bytes]
"""Takes the bytes that came (none when nothing came for a moment) and returns those that go back."""

_LOOK_S = 0.005


class UnpluggedError(Exception):
    """Raised by a behaviour to pull the plug."""


@contextmanager
def on_a_port(behaviour: Behaviour) -> Iterator[str]:
    """Give the name of a port on whose other end `behaviour` answers, until the block ends."""
    ours, theirs = pty.openpty()
    tty.setraw(theirs)
    name = os.ttyname(theirs)
    os.close(theirs)
    done = threading.Event()
    thread = threading.Thread(target=_serve, args=(ours, behaviour, done), daemon=True)
    thread.start()
    try:
        yield name
    finally:
        done.set()
        thread.join(5)
        with suppress(OSError):
            os.close(ours)


def _serve(ours: int, behaviour: Behaviour, done: threading.Event) -> None:
    with suppress(UnpluggedError):
        while not done.is_set():
            back = behaviour(_heard(ours))
            while back:
                back = back[os.write(ours, back) :]
        return
    os.close(ours)


def _heard(ours: int) -> bytes:
    ready, _, _ = select.select([ours], [], [], _LOOK_S)
    if not ready:
        return b""
    try:
        return os.read(ours, 4096)
    except OSError:  # nobody has the port open
        time.sleep(_LOOK_S)
        return b""
