"""What hands do for one reading, in sentences: the leads, what is pressed, what the meter is set to."""

from __future__ import annotations

from collections.abc import Iterator

from retrofit.circuits.line.next_reading import Step
from retrofit.midi.names import note_name
from retrofit.survey.points import Point, PointKind
from retrofit.survey.readings import Load, State

BLACK = "Clip black to the organ's return and leave it there."
DEAD_FIRST = "Power off, plug out, and prove it dead with a tried meter; press nothing unless it says so."
_LOADS = {
    Load.MEGOHM: "Hang 1 MΩ from the line to the return, beside the meter.",
    Load.HUNDRED_KILOHM: "Hang 100 kΩ from the line to the return, beside the meter.",
    Load.TEN_KILOHM: "Hang 10 kΩ from the line to the return, beside the meter, no longer than it takes to read.",
    Load.TO_SUPPLY: "Hang 10 kΩ from the line to the supply, beside the meter, no longer than it takes to read.",
}
_POWER_OFF = "power off: "


def hands(step: Step, line: str, point: Point | None) -> tuple[str, ...]:
    """Return what is done for a step, a sentence each; `point` is None for a line that is known by its tag alone."""
    if step.state is None or step.load is None:
        return tuple(_once(step))
    return tuple(_reading(step.state, step.load, line, point))


def _reading(state: State, load: Load, line: str, point: Point | None) -> Iterator[str]:
    yield BLACK
    if load in _LOADS:
        yield _LOADS[load]
    yield f"Touch red to the line {line_words(line, point)}."
    yield keying(point) if state is State.KEYED else "Let everything rest: nothing pressed, nothing on."
    kinds = "the DC volts, then the AC volts," if load is Load.METER else "the DC volts"
    yield f"Type {kinds} as the meter shows them."


def _once(step: Step) -> Iterator[str]:
    if step.words.startswith(_POWER_OFF):
        yield DEAD_FIRST
        yield f"Then: {step.words.removeprefix(_POWER_OFF)}."
        return
    yield BLACK
    words = step.words[:1].upper() + step.words[1:]
    yield words if words.endswith("?") else f"{words}."


def line_words(line: str, point: Point | None) -> str:
    """Return which wire it is: its id, its tag and strip, its colour, as far as they are written down."""
    if point is None:
        return line
    found = point.found
    facts = (
        f"tag {found.tag}" if found.tag else "",
        f"strip {found.strip}" if found.strip else "",
        found.wire_colour,
    )
    known = ", ".join(filter(None, facts))
    return f"{line} ({known})" if known else line


def keying(point: Point | None) -> str:
    """Return how the line of a point is keyed."""
    if point is None:
        return "Key it: press and hold, or put on, what it serves."
    match point.kind:
        case PointKind.KEY:
            return f"Press and hold key {_key(point)}."
        case PointKind.PISTON:
            return f"Press and hold {point.name}."
        case PointKind.STOP:
            return f"Put {point.name} on."
        case PointKind.STAGE:
            return f"Move the control until {point.name} closes, and hold it there."
        case PointKind.SHOE:
            return f"Open {point.name} fully, and hold it there."


def _key(point: Point) -> str:
    key = f"{point.position + 1}" if point.note is None else f"{note_name(point.note)}, note {point.note}"
    return f"{key}, its contact {point.name}" if point.name else key
