"""Two thousand messages a second while somebody uses the keys."""

from __future__ import annotations

import asyncio
from pathlib import Path

from tests.tui.flood import A_SECOND, flooded


def test_a_flood_is_counted_whole_and_keys_go_on_working(gutted: Path) -> None:
    """Not one message is missing from the counts, and the cursor has followed the keys all the while."""
    hearing, flood, waits = asyncio.run(flooded(gutted, 2))
    assert flood.sent == hearing.engine.messages == 2 * A_SECOND
    assert sum(tally.ons for tally in hearing.engine.contacts) == A_SECOND
    assert len(waits) >= 10
    assert max(waits) < 1.0
