"""Classes of line that no circuit which reads a steady level may touch, with the reason."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from retrofit.circuits.line.classes import LineClass
from retrofit.circuits.line.classify import Classified
from retrofit.circuits.sense import strobe_listening
from retrofit.plan.sensing.candidates import Candidate
from retrofit.survey.wishes import Sense

REASONS: Mapping[LineClass, str] = {
    LineClass.MAINS: "the line may be mains or another dangerous voltage: nothing of ours is put on it",
    LineClass.DATA: "the line carries data, which any load may spoil: leave it alone and sense the contacts",
    LineClass.SCANNED: (
        "the keyboard is scanned already: a steady level tells nothing of a key, and a second scan would upset the "
        "first; listen together with its strobes, or fit second contacts or sensors"
    ),
    LineClass.PULSING: "the line blinks with a tremulant: sense its tab, never its oscillator",
    LineClass.WIPER: "the line is the wiper of a potentiometer: it belongs to a converter, not to a contact's input",
    LineClass.CHANGING_RESISTOR: "the line changes by degrees: it belongs to a converter, not to a contact's input",
    LineClass.FLOATING: "the line floats: its volts were those of the meter; give it a bleeder first, then read again",
}
CONTRADICTED = "its readings cannot all be right, so nothing is built on them"


def refused_by_class(candidate: Candidate, found: Classified | None) -> Candidate:
    """Return the candidate, refused where the class of the line or contradicting readings speak against it.

    A sensor touches no line, and a line that moves by degrees suits the converter.
    """
    if candidate.sense is Sense.SENSOR or (candidate.sense is Sense.UNKNOWN and _moves_by_degrees(found)):
        return candidate
    reason = "" if _listens_to_strobes(candidate, found) else _reason(found)
    if not reason:
        return candidate
    design = candidate.design
    return replace(candidate, design=replace(design, refusals=(reason, *design.refusals)))


def _listens_to_strobes(candidate: Candidate, found: Classified | None) -> bool:
    """Return whether a scanned keyboard is listened to together with its strobes."""
    scanned = found is not None and found.named is LineClass.SCANNED and not found.contradictions
    return scanned and candidate.design.circuit == strobe_listening.CIRCUIT


def _moves_by_degrees(found: Classified | None) -> bool:
    """Return whether a line is one for the converter, whose circuits no wish names."""
    return found is not None and found.named in (LineClass.WIPER, LineClass.CHANGING_RESISTOR)


def _reason(found: Classified | None) -> str:
    if found is None:
        return ""
    if found.contradictions:
        return f"{CONTRADICTED}: {'; '.join(one.words for one in found.contradictions)}"
    return REASONS.get(found.named, "") if found.named is not None else ""
