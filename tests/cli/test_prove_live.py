"""`retrofit prove` on a live serial line: a pseudo-terminal carries the bytes of a console played by hand."""

from __future__ import annotations

import os
import pty
import signal
import subprocess
import sys
import time
import tty
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from retrofit.cli.output import Exit
from retrofit.proving.records.rows import State
from retrofit.proving.records.store import RecordFile, records_path
from tests.cli.conftest import ROOT, written
from tests.proving.plans import JOB
from tests.proving.runs.players import keys, off, on

BEGINS = "slow run: play"
PASSED_S = 20.0
"""So long a test waits for a line on a busy machine."""


class Live:
    """The command as a process that listens to one end of a pseudo-terminal, while we play at the other."""

    def __init__(self, job: Path, *arguments: str) -> None:
        self._ours, theirs = pty.openpty()
        tty.setraw(theirs)
        command = [sys.executable, "-m", "retrofit.cli.main", "prove", str(job), "--division", "great", "--ready"]
        command += ["--serial", os.ttyname(theirs), "--only", "slow-run", "--only", "asked-for", *arguments]
        self.process = subprocess.Popen(
            command, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=ROOT
        )
        self._theirs = theirs

    def wait_for(self, words: str) -> None:
        """Read what is said until these words come."""
        assert self.process.stderr is not None
        until = time.monotonic() + PASSED_S
        for line in self.process.stderr:
            if words in line:
                return
            assert time.monotonic() < until, f"{words!r} was not said in time"
        raise AssertionError(f"{words!r} was never said")

    def press(self, note: int) -> None:
        """Press a key for 40 ms."""
        os.write(self._ours, on(note))
        time.sleep(0.04)
        os.write(self._ours, off(note))
        time.sleep(0.06)

    def end(self) -> tuple[int, str]:
        """Wait for the end; return exit code and data."""
        out, _ = self.process.communicate(timeout=PASSED_S)
        return self.process.returncode, out

    def close(self) -> None:
        """End it, however it stands."""
        self.process.kill()
        self.process.communicate()
        os.close(self._ours)
        os.close(self._theirs)


@contextmanager
def live(job: Path, *arguments: str) -> Iterator[Live]:
    """Start the command, and see to it that it ends."""
    console = Live(job, *arguments)
    try:
        yield console
    finally:
        console.close()


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """Return the job file of the small invented console."""
    return written(tmp_path / "small.toml", JOB)


def test_a_killed_run_is_resumed_with_what_was_played(job: Path) -> None:
    """Half of the keys, then a kill that cannot be caught; resumed, the other half is enough, and all pass."""
    half, rest = keys()[:5], keys()[5:]
    with live(job) as console:
        console.wait_for(BEGINS)
        for note in half:
            console.press(note)
        console.wait_for(f"great E2 ({half[2]}): passed")
        time.sleep(1.2)
        console.process.send_signal(signal.SIGKILL)
        assert console.process.wait() == -signal.SIGKILL
    with RecordFile(records_path(job), "Invented for tests", create=False) as file:
        assert file.runs()[0].state is State.OPEN
    with live(job, "--resume") as console:
        console.wait_for("isolator")
        time.sleep(1.5)
        for note in rest:
            console.press(note)
        code, out = console.end()
    assert code == Exit.OK
    assert out.count("passed") == len(keys())


def test_an_interrupted_run_shows_and_keeps_its_outcome(job: Path) -> None:
    """Control-C in the middle: exit 130, what was heard is shown and stands in the record as stopped."""
    with live(job) as console:
        console.wait_for(BEGINS)
        console.press(36)
        console.wait_for("great C2 (36): passed")
        console.process.send_signal(signal.SIGINT)
        code, out = console.end()
    assert code == Exit.INTERRUPTED
    assert out.count("passed") == 1
    with RecordFile(records_path(job), "Invented for tests", create=False) as file:
        assert file.runs()[0].state is State.STOPPED
        assert [point.verdict for point in file.points(1)].count("passed") == 1
