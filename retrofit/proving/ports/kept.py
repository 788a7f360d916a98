"""A MIDI port of the system that is kept open: watched, given up when its device goes, and opened again by name."""

from __future__ import annotations

import time
from typing import Literal

from retrofit.proving.ports.child import Child
from retrofit.proving.ports.errors import PortError
from retrofit.proving.ports.frames import Frame, Kind
from retrofit.proving.ports.names import PortName, chosen, come_back
from retrofit.proving.ports.system import Looker, PortsSeen, SteadyLooker, look_once

OPEN_S = 10.0
"""How long an opening may take, on a computer that is busy; a server that is just starting may never answer."""
_ASK_S = 0.01

Side = Literal["in", "out"]


class KeptPort:
    """One port, by a worker process of its own.

    Whoever uses it calls `tend` often; that never waits.  `away` is True from the moment when the port is missing from
    the system's list, or its worker has ended, until it has been opened again.
    """

    def __init__(self, side: Side, wish: str, looker: Looker | None = None, virtual: bool = False) -> None:
        self.away = True
        self._lost_before = 0
        self._dropped_by_worker = 0
        self._side: Side = side
        self._virtual = virtual
        seen = look_once()
        self.port = _virtual_port(wish, seen) if virtual else chosen(wish, _ports(side, seen))
        self._looks_done = 0
        self._refusal = ""
        self._was_open = False
        self._child = self._new_child()
        self._waiting: list[Frame] = []
        self._wait_until_open()
        self._own_looker = looker is None
        self._looker: Looker = looker or SteadyLooker()

    @property
    def dropped(self) -> int:
        """Messages lost because nobody took them in time; where the system's own queue ran over, at least so many."""
        return self._lost_before + self._dropped_by_worker + self._child.overruns + self._child.dropped_here

    def tend(self) -> list[Frame]:
        """See how the port stands; return the messages that have come."""
        messages = [*self._waiting, *self._taken()]
        self._waiting = []
        looks, seen = self._looker.latest()
        if looks != self._looks_done and seen is not None:
            self._looks_done = looks
            messages += self._compare(seen)
        return messages

    def tell(self, piece: bytes) -> bool:
        """Hand a piece to the worker; False while the port is away, or when it takes nothing."""
        return not self.away and self._child.tell(piece)

    def close(self) -> list[Frame]:
        """Let the worker finish and end; return the messages that came until then."""
        if self._own_looker:
            self._looker.close()
        self._child.close()
        return [*self._waiting, *self._taken()]

    def _taken(self) -> list[Frame]:
        """Return the messages among the worker's frames, and follow what the others say."""
        ended = self._child.ended
        messages = []
        for frame in self._child.frames():
            if frame.kind == Kind.MESSAGE:
                messages.append(frame)
            elif frame.kind == Kind.OPENED:
                self.away, self._was_open = False, True
            elif frame.kind == Kind.DROPPED:
                self._dropped_by_worker = frame.number
            elif frame.kind == Kind.FAILED:
                self._refusal = f" ({frame.content.decode(errors='replace')})"
        self.away = self.away or ended
        if self.away and time.monotonic() > self._open_by_s:
            self._child.part()
        return messages

    def _compare(self, seen: PortsSeen) -> list[Frame]:
        """Hold a look against what is thought of the port: give it up, or open it again."""
        there = self._there(seen)
        if there is None or there != self.port:
            return self._give_up()
        if self.away and self._child.ended:
            self._replace_child()
        return []

    def _there(self, seen: PortsSeen) -> PortName | None:
        if self._virtual:
            return self.port if self.port.back_end in seen.working else None
        there = come_back(self.port, _ports(self._side, seen))
        if there is not None and self.away:
            self.port = there
        return there

    def _give_up(self) -> list[Frame]:
        self._child.part()
        rest = self._taken()
        self.away = True
        return rest

    def _replace_child(self) -> None:
        self._child.close()
        self._lost_before = self.dropped
        self._dropped_by_worker = 0
        self._child = self._new_child()

    def _new_child(self) -> Child:
        self._open_by_s = time.monotonic() + OPEN_S
        sort = "virtual" if self._virtual else "real"
        return Child((self._side, self.port.back_end, self.port.name, sort))

    def _wait_until_open(self) -> None:
        """Wait for the worker's word.  Raises `PortError` when it cannot open the port, or does not in time.

        A port that was opened and is gone again by then is no refusal: it is away, and will be opened again.
        """
        while True:
            ended = self._child.ended
            self._waiting += self._taken()
            if self._was_open:
                return
            if ended or time.monotonic() > self._open_by_s:
                self._child.close()
                raise PortError(f"{self.port.name} cannot be opened{self._refusal}", _LIST)
            time.sleep(_ASK_S)


_LIST = "retrofit ports lists the ports that there are"


def _ports(side: Side, seen: PortsSeen) -> tuple[PortName, ...]:
    return seen.inputs if side == "in" else seen.outputs


def _virtual_port(name: str, seen: PortsSeen) -> PortName:
    """Return the port that we are to be for other programs."""
    if not seen.working:
        reasons = "; ".join(f"{back_end.name}: {back_end.reason}" for back_end in seen.back_ends)
        raise PortError("the system lets no program be a MIDI port", reasons or "its MIDI library has no back end here")
    return PortName(seen.working[0], name)
