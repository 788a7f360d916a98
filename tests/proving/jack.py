"""A sound server of the tests' own, without a sound card: real MIDI ports on any Linux machine."""

from __future__ import annotations

import subprocess
from pathlib import Path
from types import TracebackType
from typing import Self
from uuid import uuid4

import pytest

from tests.tools import require_tool

_START_S = 20
_END_S = 15
_SMALL = ("--port-max", "64")
"""Few ports take little shared memory, of which a container often has no more than 64 MB."""
_PATIENT = ("--sync", "--timeout", "2000")
"""The server waits for its clients.  By itself it leaves out one that is late, as on a busy machine all are, and with
it the messages of that cycle."""


class JackServer:
    """A JACK server with the dummy driver, under a name that nobody else uses; it is always stopped.

    A `patient` one loses no message of a late client.
    """

    def __init__(self, patient: bool = False) -> None:
        self._ways = _PATIENT if patient else ()
        self.name = f"tests-{uuid4().hex[:12]}"
        self._process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        """Start the server, and wait until a program can reach it."""
        jackd, jack_wait = require_tool("jackd", "jackd2"), require_tool("jack_wait", "jackd2")
        command = [jackd, "--no-realtime", *_SMALL, *self._ways, "-n", self.name, "-d", "dummy", "-p", "1024"]
        self._process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        waiting = [jack_wait, "-s", self.name, "-w", "-t", str(_START_S)]
        if subprocess.run(waiting, capture_output=True, timeout=2 * _START_S, check=False).returncode:
            self.stop()
            pytest.fail("the tests' own JACK server does not start; is there room in /dev/shm?")

    def stop(self) -> None:
        """End the server as a person would."""
        process, self._process = self._process, None
        if process is None:
            return
        process.terminate()
        try:
            process.wait(_END_S)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()
        for left_over in Path("/dev/shm").glob(f"jack*{self.name}*"):  # noqa: S108  # where that server keeps its memory
            left_over.unlink(missing_ok=True)

    def crash(self) -> None:
        """End the server without a word to its clients."""
        if self._process is not None:
            self._process.kill()

    def __enter__(self) -> Self:
        """Start the server."""
        self.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Stop the server."""
        self.stop()
