"""What is done in each kind of step that a plan implies, how it is undone, and how long that takes.

Tools, signs and minutes are common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from retrofit.plan.operations import NOTHING_TO_READ, Operation, Undo
from retrofit.survey.instrument import MidiOut
from retrofit.survey.operations import OperationKind
from retrofit.survey.wishes import TapMeans


@dataclass(frozen=True, slots=True)
class StepKind:
    """A kind of step: what is done and why, with which tool, its inverse, and the minutes that undoing takes."""

    kind: OperationKind
    done: str
    why: str
    tool: str
    undo: Undo | None
    minutes: float


_LISTEN = "to hear these lines; the organ's own wires stay where they are"

TAPS = {
    TapMeans.SPRING_HOOK: StepKind(
        OperationKind.TAP_LINE,
        "spring hook put on the tag",
        _LISTEN,
        "by hand",
        Undo("take the spring hook off the tag", "by hand", "tag bare and unbent, the organ's own wire in its place"),
        0.5,
    ),
    TapMeans.RING: StepKind(
        OperationKind.TAP_LINE,
        "ring put under the existing screw",
        _LISTEN,
        "screwdriver",
        Undo("take our ring from under the screw", "screwdriver", "screw tight, under it the organ's own wire alone"),
        2.0,
    ),
    TapMeans.ADAPTOR: StepKind(
        OperationKind.TAP_LINE,
        "adaptor put between an existing plug and its socket",
        _LISTEN,
        "by hand",
        Undo(
            "take the adaptor from between plug and socket", "by hand", "plug home in its own socket, nothing between"
        ),
        1.0,
    ),
}

CONTACT = StepKind(
    OperationKind.WIRE_CONTACT,
    "our wires joined to contacts that nothing of the organ feeds any more",
    "to read these contacts",
    "soldering iron",
    Undo(
        "take our wires off the contacts", "soldering iron", "contacts clean and unbent, no solder between neighbours"
    ),
    30.0,
)
SENSOR = StepKind(
    OperationKind.FIT_SENSOR,
    "sensor of our own fitted, clamped or in existing holes",
    "to follow the movement; no circuit of the organ is touched",
    "screwdriver",
    Undo("take the sensor and its clamp off", "screwdriver", "the part moves freely, no mark and no magnet left"),
    10.0,
)
CABLE = StepKind(
    OperationKind.RUN_CABLE,
    "cable of ours laid to the board, tied beside the organ's own",
    "to bring these lines to the board",
    "by hand",
    Undo("take our cable and its ties out", "side cutter for the ties", "the organ's own cables lie as photographed"),
    5.0,
)
BOARD = StepKind(
    OperationKind.MOUNT_BOARD,
    "board put up by existing holes, a clamp or a plate that stands by itself",
    "to read the lines that come to it",
    "screwdriver",
    Undo(
        "take the board down, and what holds it",
        "screwdriver",
        "the place as photographed, its own screws back in their holes",
    ),
    5.0,
)
SPLIT = StepKind(
    OperationKind.SPLIT_BUS,
    "bus cut into rows for a matrix",
    "a matrix reads row by row",
    "saw",
    None,
    0.0,
)
SUPPLY = StepKind(
    OperationKind.FIT_SUPPLY,
    "supply of our own plugged in, isolated from the mains and from the organ",
    "so that nothing but the sense current comes from the organ",
    "by hand",
    Undo("pull our supply from the wall, then its lead from the board", "by hand", "no lamp lit on any board of ours"),
    1.0,
)
MIDI = {
    MidiOut.DIN: StepKind(
        OperationKind.PLUG_MIDI,
        "MIDI lead plugged into the DIN socket",
        "to carry what is played to the sound",
        "by hand",
        Undo("pull the MIDI lead", "by hand", "DIN socket empty"),
        0.5,
    ),
    MidiOut.USB: StepKind(
        OperationKind.PLUG_MIDI,
        "USB lead plugged in behind its isolator",
        "to carry what is played to the computer",
        "by hand",
        Undo("pull the USB lead", "by hand", "USB socket empty"),
        0.5,
    ),
}


def step(kind: StepKind, step_id: str, subject: str, what: str, **details: Any) -> Operation:
    """Return a step of this kind; `details` are further fields of the operation."""
    return Operation(
        id=step_id,
        kind=kind.kind,
        subject=subject,
        what=what,
        done=kind.done,
        why=kind.why,
        tool=kind.tool,
        undo=kind.undo,
        minutes=kind.minutes if kind.undo else None,
        **{"proof": NOTHING_TO_READ, **details},
    )
