"""Where a line is touched: the questions that decide what the MIDI will do, with what happens otherwise."""

from __future__ import annotations

from retrofit.circuits.sense.design import SenseDesign
from retrofit.circuits.sense.line import Line
from retrofit.plan.sensing.model import TapQuestion
from retrofit.survey.base import Ternary
from retrofit.survey.wiring import Wiring

AFTER_COUPLER, AFTER_CAPACITOR, SWITCHED_BUS = "after-coupler", "after-decay-capacitor", "on-switched-bus"


def tap_questions(wiring: Wiring, line: Line, circuit: SenseDesign | None) -> tuple[TapQuestion, ...]:
    """Return what must be asked of the tap of a line that the organ owns, with the answers that the survey has.

    `circuit` is the chosen one, or the best of those that were worked out.
    """
    return (
        TapQuestion(
            AFTER_COUPLER,
            "does a coupler feed the line before it reaches the tap?",
            wiring.dead.coupler_before_tap,
            Ternary.NO,
            "with the coupler drawn every key sends the coupled note too: notes are doubled, and a coupler sent as a "
            "stop doubles them once more",
        ),
        TapQuestion(
            AFTER_CAPACITOR,
            "does the tapped wire fall slowly after release, because a decay capacitor hangs on it?",
            wiring.decay_capacitor,
            Ternary.NO,
            f"every note-off comes {late_words(line, circuit)} late",
        ),
        TapQuestion(
            SWITCHED_BUS,
            "is the bus of these contacts fed through a stop?",
            wiring.dead.switched_by_stop,
            Ternary.NO,
            "the keys send nothing while that stop is off",
        ),
    )


def late_words(line: Line, circuit: SenseDesign | None) -> str:
    """Return how late a note-off comes behind a decay capacitor, at the worst corner."""
    if line.decay is None:
        return "an unknown time (the time to fall was not read)"
    if circuit is None or not circuit.parts:
        return "an unknown time (no circuit was worked out)"
    return f"up to {circuit.release_delay_us / 1e3:.0f} ms"
