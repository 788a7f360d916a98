"""Driving the screens by their keys, as a user does."""

from __future__ import annotations

import asyncio
import time
from collections.abc import Awaitable, Callable
from pathlib import Path

from textual.pilot import Pilot

from tui.app import RetrofitApp

Steps = Callable[[Pilot[None], RetrofitApp], Awaitable[None]]
PATIENCE_S = 20.0


def drive(path: Path | None, steps: Steps, size: tuple[int, int] = (80, 24)) -> RetrofitApp:
    """Open a job on the screens, wait until it is there, and take the steps; return the program as it was left."""

    async def run() -> RetrofitApp:
        app = RetrofitApp(path)
        async with app.run_test(size=size) as pilot:
            if path is not None:
                await until(pilot, lambda: app.state is not None)
            await pilot.pause()
            await steps(pilot, app)
            await app.put_away()
        return app

    return asyncio.run(run())


async def until(pilot: Pilot[None], holds: Callable[[], bool]) -> None:
    """Wait until something holds; fail when it does not within the patience of a busy machine."""
    give_up = time.monotonic() + PATIENCE_S
    while not holds():
        assert time.monotonic() < give_up, "waited in vain"
        await pilot.pause(0.02)
    await pilot.pause()
