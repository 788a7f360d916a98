"""Keeping a port worker: what it says is taken as it comes, what it is told never makes the caller wait."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
import time
from collections import deque
from collections.abc import Callable, Sequence
from contextlib import suppress
from queue import Empty, Full, Queue
from typing import IO

from retrofit.proving.ports.frames import Frame, Kind, Unpacker

HELD_MAX = 1_000_000
"""Frames held for a caller that does not take them; what comes beyond is dropped and counted."""
TOLD_MAX = 4096
"""Pieces held for a worker that does not take them; what comes beyond is refused."""
END_S = 2.0
"""How long a worker may take to end when it is asked to, before it is ended."""
_ASK_S = 0.005
_PIECE = 1 << 16
_LOST_WORDS = b"overrun"
"""Stands in what the library writes when the system's own queue has run over (its words in version 5)."""

WORKER = (sys.executable, "-m", "retrofit.proving.ports.worker")


def worker_environment() -> dict[str, str]:
    """Return our own environment, in which the worker finds the very modules that we run from."""
    return {**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))}


class Child:
    """A worker process, its frames and its end."""

    def __init__(self, arguments: Sequence[str], command: Sequence[str] = WORKER, held_max: int = HELD_MAX) -> None:
        self.overruns = 0
        self.dropped_here = 0
        self._held_max = held_max
        self._frames: deque[Frame] = deque()
        self._told: Queue[bytes | None] = Queue(TOLD_MAX)
        self._process = subprocess.Popen(  # noqa: S603  # our own worker by the interpreter that runs us
            [*command, *arguments],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            env=worker_environment(),
            start_new_session=True,
        )
        self._deadline_s: float | None = None
        self._taking = self._started(self._take_frames, self._process.stdout)
        self._others = (
            self._started(self._take_complaints, self._process.stderr),
            self._started(self._tell, self._process.stdin),
        )

    @property
    def ended(self) -> bool:
        """Whether the worker is no more and all that it said has been received; one that is overdue is ended."""
        if self._deadline_s is not None and time.monotonic() > self._deadline_s:
            self._process.kill()
        return self._process.poll() is not None and not self._taking.is_alive()

    def frames(self) -> list[Frame]:
        """Return the frames that have come since the last call, oldest first."""
        return [self._frames.popleft() for _ in range(len(self._frames))]

    def tell(self, piece: bytes) -> bool:
        """Hand a piece to the worker; return False when too much is waiting already."""
        return self._put(piece)

    def part(self) -> None:
        """Ask the worker to do what it was told and end, without waiting for it.

        Ending it at once could hold up the sound server that it talks to, and with it everybody's sound.
        """
        if self._deadline_s is None:
            self._deadline_s = time.monotonic() + END_S
            if not self._put(None):
                self._process.kill()

    def close(self) -> None:
        """Part from the worker and wait for its end; what it said until then stays to be taken."""
        self.part()
        while not self.ended:
            time.sleep(_ASK_S)
        self._drop_told()
        for thread in (self._taking, *self._others):
            thread.join(END_S)
        for pipe in (self._process.stdin, self._process.stdout, self._process.stderr):
            if pipe is not None:
                with suppress(OSError):
                    pipe.close()

    def _put(self, piece: bytes | None) -> bool:
        with suppress(Full):
            self._told.put_nowait(piece)
            return True
        return False

    def _drop_told(self) -> None:
        """Let the thread that tells end, whatever is still waiting to be told."""
        with suppress(Empty):
            while True:
                self._told.get_nowait()
        self._put(None)

    @staticmethod
    def _started(work: Callable[[IO[bytes]], None], pipe: IO[bytes] | None) -> threading.Thread:
        thread = threading.Thread(target=work, args=(pipe,), daemon=True)
        thread.start()
        return thread

    def _take_frames(self, pipe: IO[bytes]) -> None:
        unpacker = Unpacker()
        while piece := os.read(pipe.fileno(), _PIECE):
            for frame in unpacker.take(piece):
                if frame.kind == Kind.MESSAGE and len(self._frames) >= self._held_max:
                    self.dropped_here += 1
                else:
                    self._frames.append(frame)

    def _take_complaints(self, pipe: IO[bytes]) -> None:
        for line in pipe:
            self.overruns += _LOST_WORDS in line

    def _tell(self, pipe: IO[bytes]) -> None:
        with suppress(OSError):
            while (piece := self._told.get()) is not None:
                pipe.write(piece)
                pipe.flush()
        with suppress(OSError):
            pipe.close()
