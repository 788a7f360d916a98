"""A process of its own for each MIDI port of the system, and for looking which ports there are.

The system's MIDI libraries may wait without end, or bring down the whole process, when the service behind them stops
(measured with JACK: a client of a dead server lists ports that are no more, waits for ever in a send while holding the
interpreter, and crashes when it is closed).  In a process of its own that costs a port, never the program.
A worker ends when its standard input ends, so that it never outlives whoever keeps it.
"""

from __future__ import annotations

import json
import os
import signal
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path
from queue import SimpleQueue
from typing import Any, BinaryIO

from retrofit.proving.ports.frames import Frame, Kind, Unpacker, packed

CLIENT = "retrofit"
"""What the system calls us among the programs that have ports."""
HELD_MAX = 200_000
"""Messages held while the pipe is full; what comes beyond is dropped and counted."""
SLACK_US = 100_000
"""The library's times between messages are believed as long as they keep this close to our own clock."""
LAST_WORDS_S = 0.1
"""A message that was just given still has to leave before its port closes."""
_PIECE = 1 << 16
_DOING = {"in": "listening", "out": "speaking"}
_SEQUENCER = Path("/dev/snd/seq")


def now_us() -> int:
    """Return the time of the system's steady clock, the same in every process."""
    return time.monotonic_ns() // 1000


class ArrivalClock:
    """Gives each message its time of arrival; it never goes back.

    The library says how long after the one before a message came, which is better than the time at which a busy
    computer gets round to it; but it must not run away from the steady clock.
    """

    def __init__(self, now: Callable[[], int] = now_us) -> None:
        self._now = now
        self._last_us: int | None = None

    def stamp(self, since_last_s: float) -> int:
        """Return the time in microseconds of a message that came so long after the one before."""
        now = self._now()
        if self._last_us is None:
            self._last_us = now
            return now
        told = self._last_us + round(since_last_s * 1e6)
        near = now - SLACK_US <= told <= now
        self._last_us = told if near else max(now, self._last_us)
        return self._last_us


class Inbox:
    """What the library calls with every message; it neither waits nor grows without bound."""

    def __init__(self, limit: int = HELD_MAX, clock: ArrivalClock | None = None) -> None:
        self.queue: SimpleQueue[bytes | None] = SimpleQueue()
        self.dropped = 0
        self._limit = limit
        self._clock = clock or ArrivalClock()

    def __call__(self, event: tuple[list[int], float], _: object = None) -> None:
        """Take a message and the seconds since the one before."""
        message, since_last_s = event
        at_us = self._clock.stamp(since_last_s)
        if self.queue.qsize() >= self._limit:
            self.dropped += 1
        else:
            self.queue.put(packed(Kind.MESSAGE, at_us, bytes(message)))

    def pass_on(self, out: BinaryIO) -> None:
        """Write what has come to the pipe, waiting for more, until the end is put into the queue."""
        told = 0
        while (first := self.queue.get()) is not None:
            batch = [first]
            while not self.queue.empty() and len(batch) < _PIECE:
                following = self.queue.get()
                if following is None:
                    self.queue.put(None)
                    break
                batch.append(following)
            if self.dropped != told:
                told = self.dropped
                batch.append(packed(Kind.DROPPED, told))
            out.write(b"".join(batch))
            out.flush()


def back_ends() -> dict[str, int]:
    """Return the library's number for each back end that it has on this system, by a name for people."""
    import rtmidi  # noqa: PLC0415  # loaded in a worker alone

    return {
        str(rtmidi.get_api_display_name(number)): int(number)
        for number in rtmidi.get_compiled_api()
        if number != rtmidi.API_RTMIDI_DUMMY
    }


def look() -> dict[str, Any]:
    """Return what ports each back end offers, and why one offers none, as plain data."""
    return {name: _look_at(name, number) for name, number in back_ends().items()}


def _look_at(name: str, number: int) -> dict[str, Any]:
    import rtmidi  # noqa: PLC0415  # loaded in a worker alone

    found: dict[str, list[str]] = {}
    try:
        for side, kind in (("inputs", rtmidi.MidiIn), ("outputs", rtmidi.MidiOut)):
            port = kind(number, name=f"{CLIENT} looking")
            found[side] = [words for words in port.get_ports() if f"{CLIENT} looking" not in words]
            port.delete()
    except (OSError, ValueError) as error:  # the library's own errors are kinds of OSError
        return {"inputs": [], "outputs": [], "reason": _reason(name, str(error))}
    return {**found, "reason": ""}


def _reason(back_end: str, words: str) -> str:
    if "ALSA" in back_end:
        if not _SEQUENCER.exists():
            return f"the system has no MIDI sequencer: {_SEQUENCER} is not there; load the kernel module snd-seq"
        if not os.access(_SEQUENCER, os.R_OK | os.W_OK):
            return f"{_SEQUENCER} may not be opened by this user; join the group that owns it, often audio"
    if "jack" in back_end.lower():
        return "no JACK server is running, or none that this user may reach"
    return words


def _opened(kind: str, back_end: str, name: str, virtual: bool) -> Any:
    import rtmidi  # noqa: PLC0415  # loaded in a worker alone

    client = CLIENT if virtual else f"{CLIENT} {_DOING[kind]}"
    port = (rtmidi.MidiIn if kind == "in" else rtmidi.MidiOut)(back_ends()[back_end], name=client)
    if kind == "in":
        port.ignore_types(sysex=False, timing=False, active_sense=False)
    if virtual:
        return port.open_virtual_port(name)
    return port.open_port(port.get_ports().index(name), name=_DOING[kind])


def listen(port_of: Callable[[], Any], out: BinaryIO) -> None:
    """Open an input and pass on what it hears, until standard input ends."""
    inbox = Inbox()
    port = port_of()
    port.set_callback(inbox)
    out.write(packed(Kind.OPENED))
    out.flush()
    threading.Thread(target=_end_with_input, args=(inbox.queue,), daemon=True).start()
    inbox.pass_on(out)
    _close(port)


def _end_with_input(queue: SimpleQueue[bytes | None]) -> None:
    while os.read(sys.stdin.fileno(), _PIECE):
        pass
    queue.put(None)


def speak(port_of: Callable[[], Any], out: BinaryIO) -> None:
    """Open an output and send what comes by standard input, until that ends."""
    port = port_of()
    out.write(packed(Kind.OPENED))
    out.flush()
    unpacker = Unpacker()
    while piece := os.read(sys.stdin.fileno(), _PIECE):
        for frame in unpacker.take(piece):
            _send(port, frame)
    time.sleep(LAST_WORDS_S)
    _close(port)


def _close(port: Any) -> None:
    """Close a port and take leave of the service behind it: a JACK server waits seconds for one who just goes."""
    port.close_port()
    port.delete()


def _send(port: Any, frame: Frame) -> None:
    if frame.kind == Kind.MESSAGE:
        port.send_message(frame.content)


def _list_on_request() -> None:
    for _ in sys.stdin:
        print(json.dumps(look()), flush=True)  # noqa: T201  # the pipe to whoever keeps this worker


def main(arguments: list[str]) -> None:
    """Do one worker's work: `list`, or `in` or `out` with back end, name, and `virtual` or `real`."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    if arguments == ["list"]:
        _list_on_request()
        return
    kind, back_end, name, sort = arguments
    out = sys.stdout.buffer
    work = listen if kind == "in" else speak
    try:
        work(lambda: _opened(kind, back_end, name, sort == "virtual"), out)
    except (OSError, ValueError, KeyError) as error:
        out.write(packed(Kind.FAILED, 0, str(error).encode()))
        out.flush()
        raise SystemExit(1) from error


if __name__ == "__main__":
    main(sys.argv[1:])
