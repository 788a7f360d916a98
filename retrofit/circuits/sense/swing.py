"""The two states of a line in order of their volts, or the reason why they cannot be told apart."""

from __future__ import annotations

from dataclasses import dataclass, replace

from retrofit.circuits.result import Span
from retrofit.circuits.sense.audio import audio_refusals
from retrofit.circuits.sense.line import Line


@dataclass(frozen=True, slots=True)
class State:
    """One state of a line, `idle` or `keyed`: its volts and source resistance; `ohms` is None when not measured."""

    name: str
    volts: Span
    ohms: Span | None


@dataclass(frozen=True, slots=True)
class Swing:
    """The higher and the lower state of a line; `keyed_high` when the key raises it."""

    high: State
    low: State
    keyed_high: bool

    @property
    def idle(self) -> State:
        """The state at rest."""
        return self.low if self.keyed_high else self.high

    @property
    def keyed(self) -> State:
        """The state with the key held."""
        return self.high if self.keyed_high else self.low

    @property
    def least_volts(self) -> float:
        """The least difference between the two states."""
        return self.high.volts.least - self.low.volts.greatest


def swing_of(line: Line) -> Swing | None:
    """Return the states of a line in order; None when one was not measured or when they overlap.

    On a supply that falls to nothing between half waves the farther state is taken at its peaks.
    """
    if line.idle_volts is None or line.keyed_volts is None:
        return None
    idle = State("idle", line.idle_volts, line.idle_ohms)
    keyed = State("keyed", line.keyed_volts, line.keyed_ohms)
    if line.ripple is not None:
        farther = max((keyed, idle), key=lambda state: abs(state.volts.least + state.volts.greatest))
        idle, keyed = (
            replace(state, volts=_with_sign(line.ripple.peak_volts, state.volts)) if state is farther else state
            for state in (idle, keyed)
        )
    if keyed.volts.least > idle.volts.greatest:
        return Swing(keyed, idle, keyed_high=True)
    if idle.volts.least > keyed.volts.greatest:
        return Swing(idle, keyed, keyed_high=False)
    return None


def _with_sign(peaks: Span, of: Span) -> Span:
    return peaks if of.least + of.greatest >= 0 else Span(-peaks.greatest, -peaks.least)


def missing_of_swing(line: Line) -> str:
    """Return what must still be measured before the states can be told apart; empty when nothing."""
    volts = {"the idle volts of the line": line.idle_volts, "the keyed volts of the line": line.keyed_volts}
    return " and ".join(name for name, span in volts.items() if span is None)


def refusals_of_line(line: Line) -> tuple[str, ...]:
    """Return why no circuit that reads a level may be put on this line: audio, or states that overlap."""
    refusals = list(audio_refusals(line))
    if line.idle_volts is not None and line.keyed_volts is not None and swing_of(line) is None:
        refusals.append(
            f"idle ({line.idle_volts.least:g} to {line.idle_volts.greatest:g} V) and keyed "
            f"({line.keyed_volts.least:g} to {line.keyed_volts.greatest:g} V) overlap, so no threshold tells them "
            "apart: read the line again, or move the tap"
        )
    return tuple(refusals)
