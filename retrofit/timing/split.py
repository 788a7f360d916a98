"""When one port is not enough: sharing the channels of a burst out over several."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from retrofit.timing.wire_kinds import Wire

PORTS_MOST = 4
"""An ATmega2560 has so many serial ports (data sheet Atmel 2549, features)."""


@dataclass(frozen=True, slots=True)
class Split:
    """Channels (1-16) by port, and the time of the port that takes longest."""

    ports: tuple[tuple[int, ...], ...]
    us_max: float


def split_over(messages: Sequence[bytes], wire: Wire, ports: int) -> Split:
    """Return the channels of a burst shared out over ports: the longest channel first, each to the port freest so far.

    A channel never leaves its port, because the order within it matters.
    """
    by_channel: dict[int, list[bytes]] = {}
    for message in messages:
        by_channel.setdefault((message[0] & 0x0F) + 1, []).append(message)
    shares: list[list[int]] = [[] for _ in range(ports)]
    carried: list[list[bytes]] = [[] for _ in range(ports)]
    for channel in sorted(by_channel, key=lambda c: (-len(by_channel[c]), c)):
        port = min(range(ports), key=lambda p: (len(carried[p]), p))
        shares[port].append(channel)
        carried[port] += by_channel[channel]
    return Split(tuple(tuple(sorted(share)) for share in shares), max(wire.time(burst).us_max for burst in carried))


def fewest_ports(messages: Sequence[bytes], wire: Wire, limit_us: float) -> Split | None:
    """Return the split over the fewest ports that keeps a burst within a limit; None when no number of ports does."""
    splits = (split_over(messages, wire, ports) for ports in range(1, PORTS_MOST + 1))
    return next((split for split in splits if split.us_max <= limit_us), None)
