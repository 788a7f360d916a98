"""Looking which MIDI ports the system has, without ever waiting for it longer than was agreed."""

from __future__ import annotations

import json
import subprocess
import threading
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import IO, Protocol

from retrofit.proving.ports.child import END_S, WORKER, worker_environment
from retrofit.proving.ports.errors import PortError
from retrofit.proving.ports.names import PortName

LOOK_S = 0.5
"""Time between two looks at the list of ports, while something is open: a plug is out for longer than that."""
LOOK_MAX_S = 5.0
"""How long such a look may take; a server that is just starting may never answer."""
FIRST_LOOK_S = 20.0
"""How long the first look may take, on a computer that is busy."""

_INSTALLED = "see whether python-rtmidi is installed for this Python, and on Linux libasound (Debian: libasound2)"


@dataclass(frozen=True, slots=True)
class BackEnd:
    """One way to the MIDI ports of this system; `reason` says why it offers none, or is empty."""

    name: str
    reason: str


@dataclass(frozen=True, slots=True)
class PortsSeen:
    """The MIDI ports of the system at one moment."""

    inputs: tuple[PortName, ...]
    outputs: tuple[PortName, ...]
    back_ends: tuple[BackEnd, ...]

    @property
    def working(self) -> tuple[str, ...]:
        """The back ends that ports can be had from."""
        return tuple(back_end.name for back_end in self.back_ends if not back_end.reason)


def understood(line: bytes | str) -> PortsSeen:
    """Return what a look has found, from the line in which the worker says it."""
    told = json.loads(line)
    return PortsSeen(
        tuple(PortName(name, port) for name, found in told.items() for port in found["inputs"]),
        tuple(PortName(name, port) for name, found in told.items() for port in found["outputs"]),
        tuple(BackEnd(name, found["reason"]) for name, found in told.items()),
    )


def look_once(command: Sequence[str] = WORKER, wait_s: float = FIRST_LOOK_S) -> PortsSeen:
    """Return the MIDI ports of the system.  Raises `PortError` when it does not answer in time, or not at all."""
    try:
        done = subprocess.run(  # noqa: S603  # our own worker by the interpreter that runs us
            [*command, "list"],
            input=b"\n",
            capture_output=True,
            timeout=wait_s,
            check=True,
            env=worker_environment(),
            start_new_session=True,
        )
        return understood(done.stdout)
    except subprocess.TimeoutExpired as error:
        raise PortError(
            f"the system's MIDI service gave no answer within {wait_s:g} s", "see whether its sound server hangs"
        ) from error
    except (subprocess.CalledProcessError, OSError, ValueError) as error:
        raise PortError(
            "the system's MIDI service cannot be asked", "see whether python-rtmidi is installed"
        ) from error


class Looker(Protocol):
    """Looks at the ports again and again, off to one side."""

    def latest(self) -> tuple[int, PortsSeen | None]:
        """Return how many looks have been made, and what the newest found; None before the first."""

    def close(self) -> None:
        """Look no more."""


class SteadyLooker:
    """Looks at a steady pace in a thread, by a worker that is kept; callers read the newest answer and never wait."""

    def __init__(self, command: Sequence[str] = WORKER, every_s: float = LOOK_S, wait_s: float = LOOK_MAX_S) -> None:
        self._command = (*command, "list")
        self._every_s = every_s
        self._wait_s = wait_s
        self._latest: tuple[int, PortsSeen | None] = 0, None
        self._done = threading.Event()
        self._worker: subprocess.Popen[bytes] | None = None
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()

    def latest(self) -> tuple[int, PortsSeen | None]:
        """Return how many looks have been made, and what the newest found; None before the first."""
        return self._latest

    def close(self) -> None:
        """Look no more; a worker that does not end by itself is ended."""
        self._done.set()
        self._thread.join(END_S)
        worker = self._worker
        if worker is not None:
            worker.kill()
            self._thread.join(END_S)

    def _run(self) -> None:
        while not self._done.is_set():
            self._look()
            self._done.wait(self._every_s)
        self._end_worker()

    def _look(self) -> None:
        """Look once; a worker that the system's service has brought down says nothing, and is replaced next time."""
        worker = self._worker or self._new_worker()
        line = b""
        with suppress(OSError):
            _of(worker.stdin).write(b"\n")
            _of(worker.stdin).flush()
            overdue = threading.Timer(self._wait_s, worker.kill)
            overdue.start()
            line = _of(worker.stdout).readline()
            overdue.cancel()
        if line.endswith(b"\n"):
            self._latest = self._latest[0] + 1, understood(line)
        else:
            self._end_worker()

    def _new_worker(self) -> subprocess.Popen[bytes]:
        self._worker = subprocess.Popen(  # noqa: S603  # our own worker by the interpreter that runs us
            self._command,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            env=worker_environment(),
            start_new_session=True,
        )
        return self._worker

    def _end_worker(self) -> None:
        """Let the worker end by ending its input."""
        worker, self._worker = self._worker, None
        if worker is None:
            return
        with suppress(OSError):
            _of(worker.stdin).close()
        try:
            worker.wait(END_S)
        except subprocess.TimeoutExpired:
            worker.kill()
            worker.wait()
        _of(worker.stdout).close()


def _of(pipe: IO[bytes] | None) -> IO[bytes]:
    """Return a pipe that was asked for when the worker was started."""
    if pipe is None:
        raise ValueError("a worker has pipes to both sides")
    return pipe
