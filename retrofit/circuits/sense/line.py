"""What a sense circuit needs to know of a line, worst case; None stands for what was not measured."""

from __future__ import annotations

from dataclasses import dataclass

from retrofit.circuits.result import Span


@dataclass(frozen=True, slots=True)
class Decay:
    """A capacitor on the line and the resistance that discharges it after release."""

    ohms: Span
    farads: Span


@dataclass(frozen=True, slots=True)
class Ripple:
    """A supply that falls to nothing between half waves: peak volts, mains frequency, full or half wave."""

    peak_volts: Span
    mains_hz: float
    full_wave: bool


@dataclass(frozen=True, slots=True)
class Line:
    """One kind of line, to return: volts and source resistance idle and keyed, and what hangs on it.

    Volts are signed.  `keyed_amps` is the current that the organ's own load draws through the contact.
    `kick_volts` is the greatest voltage when an inductive load is opened; 0 when there is none.
    `lines_at_once` is how many such lines may be keyed together.
    """

    idle_volts: Span | None
    keyed_volts: Span | None
    idle_ohms: Span | None = None
    keyed_ohms: Span | None = None
    keyed_amps: float | None = None
    decay: Decay | None = None
    ripple: Ripple | None = None
    kick_volts: float | None = None
    carries_audio: bool | None = None
    ours: bool = False
    lines_at_once: int = 1
