"""The USB cable of an emulated console: what the computer does at the other end, and what it saw."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

UsbAction = tuple[int | str | tuple[int, ...], ...]
"""`(cycle, kind, ...)`: `plug`, `drain` or `suspend` with 0 or 1, `midi` or `link` with bytes to send, `setup` with a
setup packet and the data behind it."""

PACKET_BYTES = 4


@dataclass(frozen=True)
class UsbOrder:
    """The computer: where it expects the end points, and what it does when.  It is plugged in and drains at first."""

    actions: tuple[UsbAction, ...] = ()
    link_out: int = 2
    link_in: int = 3
    midi_out: int = 4
    midi_in: int = 5

    def as_json(self) -> dict[str, Any]:
        """Return what the node side reads, actions in order of time."""
        return {**vars(self), "actions": sorted(self.actions, key=lambda action: action[0])}


AT_REST = UsbOrder()
"""A computer that is plugged in, drains, and does nothing of itself."""


@dataclass(frozen=True)
class Answer:
    """What the board answered to one request: the setup packet, the data, and whether it refused."""

    request: bytes
    data: bytes
    stalled: bool


@dataclass(frozen=True)
class UsbSeen:
    """What the computer saw.

    `packets` holds each event packet with the cycle at which its bank was handed over, and at which it was taken.
    """

    answers: tuple[Answer, ...]
    address: int
    packets: tuple[tuple[int, int, bytes], ...]
    link: tuple[tuple[int, bytes], ...]
    configured_at: tuple[int, ...]
    detached_at: tuple[int, ...]
    unsent: int


def usb_seen(answer: dict[str, Any]) -> UsbSeen:
    """Return what the node side wrote, banks cut into packets."""
    return UsbSeen(
        answers=tuple(Answer(bytes(a["request"]), bytes(a["data"]), a["stalled"]) for a in answer["answers"]),
        address=answer["address"],
        packets=tuple(
            (ready, taken, bytes(bank[at : at + PACKET_BYTES]))
            for ready, taken, bank in answer["packets"]
            for at in range(0, len(bank), PACKET_BYTES)
        ),
        link=tuple((cycle, bytes(data)) for cycle, data in answer["link"]),
        configured_at=tuple(answer["configured_at"]),
        detached_at=tuple(answer["detached_at"]),
        unsent=answer["unsent"],
    )
