"""A source that floods: `python -m tests.tui.flood` prints how soon a key is answered meanwhile."""

from __future__ import annotations

import asyncio
import shutil
import sys
import tempfile
import time
from pathlib import Path
from types import TracebackType
from typing import Self

import retrofit.demo
from retrofit.proving.sources import Losses
from tui.app import RetrofitApp
from tui.rooms.proving.hearing import Hearing
from tui.rooms.proving.room import ProvingRoom
from tui.widgets.cell_grid import CellGrid

A_SECOND = 2_000
GIVEN_UP_S = 5.0


class Flood:
    """Notes of the lowest keys, on and off, so many a second by the clock, for so long."""

    words, away, losses = "flood", False, Losses()

    def __init__(self, seconds: float) -> None:
        self.whole = round(seconds * A_SECOND)
        self.sent = 0
        self._begun_s = 0.0

    @property
    def ended(self) -> bool:
        """Whether everything was sent."""
        return self.sent >= self.whole

    def poll(self) -> list[tuple[int, bytes]]:
        """Return what is due by now."""
        now_s = time.monotonic()
        self._begun_s = self._begun_s or now_s
        due = min(self.whole, round((now_s - self._begun_s) * A_SECOND))
        batch = [(n * 1_000_000 // A_SECOND, self._message(n)) for n in range(self.sent, due)]
        self.sent = due
        return batch

    @staticmethod
    def _message(number: int) -> bytes:
        return bytes((0x90, 36 + number // 2 % 61, 0 if number % 2 else 100))

    def __enter__(self) -> Self:
        """Begin."""
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Nothing is to be closed."""


async def flooded(job: Path, seconds: float) -> tuple[Hearing, Flood, list[float]]:
    """Listen to a flood in the room Proving and press keys meanwhile; return how long each took to be answered."""
    app, flood, waits = RetrofitApp(job), Flood(seconds), list[float]()
    async with app.run_test(size=(80, 24)) as pilot:
        while app.state is None:
            await pilot.pause(0.02)
        await pilot.press("7")
        await pilot.pause()
        room = app.screen
        if not isinstance(room, ProvingRoom):
            raise TypeError("the room Proving is not open")
        hearing = room.listen_to(flood)
        grid = room.query_one(CellGrid)
        while not flood.ended:
            before, begun_s = grid.cursor, time.perf_counter()
            app.simulate_key("left" if len(waits) % 2 else "right")
            while grid.cursor == before and time.perf_counter() - begun_s < GIVEN_UP_S:
                await asyncio.sleep(0.001)
            waits.append(time.perf_counter() - begun_s)
            await pilot.pause(0.05)
        while hearing.running:
            await pilot.pause(0.02)
        await app.put_away()
    return hearing, flood, waits


def main() -> None:
    """Print the figures of ten seconds."""
    with tempfile.TemporaryDirectory() as folder:
        job = Path(shutil.copy(Path(retrofit.demo.__path__[0], "gutted_home.toml"), folder))
        hearing, flood, waits = asyncio.run(flooded(job, 10))
    waits.sort()
    sys.stdout.write(
        f"{flood.sent} messages sent, {hearing.engine.messages} counted; {len(waits)} keys: "
        f"half within {waits[len(waits) // 2] * 1000:.1f} ms, the slowest {waits[-1] * 1000:.1f} ms\n"
    )


if __name__ == "__main__":
    main()
