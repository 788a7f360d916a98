"""How a line drives the input of an optocoupler: the state that does, its volts forwards, and what comes backwards."""

from __future__ import annotations

from dataclasses import dataclass

from retrofit.circuits.result import Span
from retrofit.circuits.sense.line import Line


@dataclass(frozen=True, slots=True)
class Driven:
    """A line with its volts turned so that the driving state is positive.

    `on` and `off` are the driving and the other state (None: not measured), `on_ohms` the source behind the driving
    one.  `keyed_drives` is False where the idle line has the greater volts.  `backward_volts` is the most that comes
    with the wrong sign, a kick included (None: not known).
    """

    on: Span
    off: Span | None
    on_ohms: Span | None
    keyed_drives: bool
    backward_volts: float | None


def driven(line: Line) -> Driven | None:
    """Return how the line drives an input; None when its keyed volts were not measured."""
    keyed = _peaks(line) or line.keyed_volts
    if keyed is None:
        return None
    idle = line.idle_volts
    keyed_drives = idle is None or abs(_middle(keyed)) >= abs(_middle(idle))
    on, off = (keyed, idle) if keyed_drives or idle is None else (idle, keyed)
    sign = 1.0 if _middle(on) >= 0 else -1.0
    on, off = _turned(on, sign), None if off is None else _turned(off, sign)
    on_ohms = line.keyed_ohms if keyed_drives else line.idle_ohms
    return Driven(on, off, on_ohms, keyed_drives, _backward(on, off, line.kick_volts))


def _peaks(line: Line) -> Span | None:
    """Return the peaks of an unfiltered supply, with the sign of the keyed volts."""
    if line.ripple is None:
        return None
    below = line.keyed_volts is not None and _middle(line.keyed_volts) < 0
    return _turned(line.ripple.peak_volts, -1.0) if below else line.ripple.peak_volts


def _middle(span: Span) -> float:
    return (span.least + span.greatest) / 2


def _turned(span: Span, sign: float) -> Span:
    ends = sorted((sign * span.least, sign * span.greatest))
    return Span(ends[0], ends[1])


def _backward(on: Span, off: Span | None, kick_volts: float | None) -> float | None:
    if off is None or kick_volts is None:
        return None
    return max(0.0, -on.least, -off.least, kick_volts)
