"""A sense circuit as lines of text.

Wires are lines, and a part is a word in square brackets with a wire at both ends; ends of the same name are joined, and
wires never cross.  `>|` is a diode with its banded end on the right, `|<` one with it on the left.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from retrofit.catalogue.isolators import load_optocouplers
from retrofit.circuits.quantity import quantity
from retrofit.circuits.sense import (
    buffer,
    comparator,
    diode_matrix,
    divider,
    non_contact,
    offset_divider,
    optocoupler,
    pull_down,
    pull_up,
    spike_rated,
    strobe_listening,
)
from retrofit.circuits.sense.design import Part, SenseDesign
from retrofit.circuits.sense.line import Line
from retrofit.circuits.sense.ripple_bridging import BRIDGED

LINE, RETURN, INPUT = "line", "the organ's return", "input"
GROUND, SUPPLY = "our ground", "our supply"
_MINUS, _PLUS, _OUT = "comparator −", "comparator +", "comparator out"
_MOST_SIDE_BY_SIDE = 2


def drawing(design: SenseDesign, line: Line) -> tuple[str, ...]:
    """Return the circuit of one line; nothing while its values are not chosen, or if a part would be left out of it."""
    draw = _DRAWN.get(design.circuit.removesuffix(BRIDGED))
    if draw is None or not design.parts:
        return ()
    parts = _Parts(design.parts)
    lines = draw(parts, line)
    return lines if parts.all_drawn else ()


@dataclass
class _Parts:
    """The parts of a design, found by the first words of where they sit; those that were asked for count as drawn."""

    parts: Sequence[Part]
    drawn: set[str] = field(default_factory=set)

    @property
    def all_drawn(self) -> bool:
        return self.drawn == {part.role for part in self.parts}

    def at(self, place: str) -> tuple[Part, ...]:
        found = tuple(part for part in self.parts if part.role.startswith(place))
        self.drawn.update(part.role for part in found)
        return found

    def values(self, place: str) -> str:
        """Return what sits there as pieces in series, nothing where nothing does."""
        found = [f"[{_value(part)}]" for part in self.at(place)]
        if len(found) > _MOST_SIDE_BY_SIDE:
            return f"[{len(found)} x {found[0][1:]}"
        return "──".join(found)


def _value(part: Part) -> str:
    return part.kind if part.unit in ("piece", "pieces") else quantity(part.value, part.unit)


def _run(*pieces: str) -> str:
    """Return pieces one after the other with wire between them; those that are empty are not there."""
    there = [piece for piece in pieces if piece]
    words = there[0]
    for before, piece in pairwise(there):
        words += ("" if before.endswith("]") else " ") + "──" + ("" if piece.startswith("[") else " ") + piece
    return words


def _node(lead: str, *branches: str) -> tuple[str, ...]:
    """Return a lead and the branches that leave its end, one below the other."""
    if len(branches) == 1:
        return (_run(lead, branches[0]),)
    head = lead + ("──" if lead.endswith("]") else " ──")
    corners = ("┬", *("├" for _ in branches[2:]), "└")
    pads = (head, *(" " * len(head) for _ in branches[1:]))
    return tuple(pad + corner + _tail(branch) for pad, corner, branch in zip(pads, corners, branches, strict=True))


def _tail(branch: str) -> str:
    return ("──" if branch.startswith("[") else "── ") + branch


def _beside(lead: str, pieces: Sequence[str], end: str) -> tuple[str, ...]:
    """Return pieces that lie between the same two nodes, one below the other."""
    if len(pieces) == 1:
        return (_run(lead, pieces[0], end),)
    wide = max(map(len, pieces))
    middle = [f"──{piece}{'─' * (wide - len(piece))}──" for piece in pieces]
    lefts, rights = ("┬", *("├" for _ in pieces[2:]), "└"), ("┬", *("┤" for _ in pieces[2:]), "┘")
    first, *rest = (left + words + right for left, words, right in zip(lefts, middle, rights, strict=True))
    return (f"{lead}──{first}── {end}", *(" " * (len(lead) + 2) + words for words in rest))


def _contact(parts: _Parts, _: Line) -> tuple[str, ...]:
    """Draw the contact to our ground: the pull-up holds the input, the contact pulls it down."""
    pull_up_part = parts.values("from the line to the logic supply") or "[pull-up of the pin]"
    filtered = parts.values("from the input to ground")
    to_contact = _run(parts.values("from the contact to the input"), "[contact]", GROUND)
    held = (_run(filtered, GROUND),) if filtered else ()
    return _node(_run(SUPPLY, pull_up_part), INPUT, to_contact, *held)


def _contact_to_supply(parts: _Parts, _: Line) -> tuple[str, ...]:
    return _node(_run(SUPPLY, "[contact]"), INPUT, _run(parts.values("from the line to ground"), GROUND))


def _sensor(parts: _Parts, _: Line) -> tuple[str, ...]:
    pull, switch = parts.values("from the input to our supply"), parts.values("beside the key or tab")
    return _node(_run(SUPPLY, pull), INPUT, _run(switch, GROUND))


def _tap_to(name: str) -> Callable[[_Parts, Line], tuple[str, ...]]:
    """Return what draws a tap whose node is called by a name."""

    def draw(parts: _Parts, _: Line) -> tuple[str, ...]:
        piece = parts.values("between the tap and the converter")
        return _tap(parts, _run(piece, name) if piece else name)

    return draw


def _tap(parts: _Parts, onward: str) -> tuple[str, ...]:
    """Draw the resistors at the tap, the clamps where some are fitted, and what the node goes on to."""
    place = "from the input to "
    lower = parts.at(place)
    far_end = lower[0].role.removeprefix(place)
    clamps = parts.at("from ground to the input and from the input to our supply")
    fitted = (_run("[|< silicon diode]", GROUND), _run("[>| silicon diode]", SUPPLY)) if clamps else ()
    lead = _run(LINE, parts.values("in series with the line"))
    return _node(lead, onward, _run(parts.values(place), far_end), *fitted)


def _comparator(parts: _Parts, _: Line) -> tuple[str, ...]:
    """Draw the tap on the inverting input, the threshold that the output moves a little, and the output."""
    parts.at("between the tap and the input")
    return (
        *_tap(parts, _MINUS),
        *_node(
            _run(SUPPLY, parts.values("from our supply to the threshold")),
            _PLUS,
            _run(parts.values("from the threshold to ground"), GROUND),
            _run(parts.values("from the output to the threshold"), _OUT),
        ),
        *_node(_run(SUPPLY, parts.values("from our supply to the output")), INPUT, _OUT),
    )


def _optocoupler(parts: _Parts, line: Line) -> tuple[str, ...]:
    """Draw the LED between line and return, and across its light the output; the line's sign says which way round."""
    coupler = parts.at("isolator")[0].kind.removeprefix("optocoupler ")
    lead = _run(LINE, parts.values("in series with the line"), *_zeners(parts, line))
    return (
        *_beside(lead, _across(parts, line, coupler), RETURN),
        *_node(
            _run(SUPPLY, parts.values("from the output to the logic supply")),
            INPUT,
            _run(f"[output of {coupler}]", GROUND),
        ),
    )


def _zeners(parts: _Parts, line: Line) -> tuple[str, ...]:
    """Return the threshold in series: its banded end to plus, or two with those ends together."""
    found = parts.at("in series with the LED")
    against = "|<" if _is_positive(line) else ">|"
    return tuple(f"[{'>| |<' if part.role.endswith('together') else against} {_value(part)}]" for part in found)


def _across(parts: _Parts, line: Line, coupler: str) -> list[str]:
    """Return the LED, or the two of a coupler for both directions, and what lies across it."""
    forward, back = (">|", "|<") if _is_positive(line) else ("|<", ">|")
    both_ways = any(part.both_ways for part in load_optocouplers().values() if part.name == coupler)
    led = "[LEDs both ways of {}]" if both_ways else f"[{forward} LED of {{}}]"
    turned = [f"[{back} {_value(part)}]" for part in parts.at("across the LED, turned round")]
    bypass = [f"[{_value(part)}]" for part in parts.at("across the LED") if part.unit == "Ω"]
    return [led.format(coupler), *bypass, *turned]


def _is_positive(line: Line) -> bool:
    """Return whether the state with the greater volts lies above the return."""
    spans = [span for span in (line.keyed_volts, line.idle_volts) if span is not None]
    middles = [(span.least + span.greatest) / 2 for span in spans]
    return not middles or max(middles, key=abs) >= 0


def _matrix(parts: _Parts, _: Line) -> tuple[str, ...]:
    """Draw one key of the matrix: its column is held high, its row pulls it low through key and diode."""
    diodes = parts.at("at each key")
    diode = f"[>| {_value(diodes[0])}]" if diodes else "[>| diode not known]"
    row = _run("[key]", diode, parts.values("in each row at its pin"), "pin of the row")
    column = _run(*filter(None, (parts.values("from each column to its pin"), "pin of the column")))
    return _node(_run(SUPPLY, parts.values("from each column to our supply")), column, row)


_DRAWN: Mapping[str, Callable[[_Parts, Line], tuple[str, ...]]] = {
    pull_up.CIRCUIT: _contact,
    pull_down.CIRCUIT: _contact_to_supply,
    non_contact.CIRCUIT: _sensor,
    divider.CIRCUIT: _tap_to(INPUT),
    offset_divider.CIRCUIT: _tap_to(INPUT),
    spike_rated.CIRCUIT: _tap_to(INPUT),
    strobe_listening.CIRCUIT: _tap_to(INPUT),
    buffer.CIRCUIT: _tap_to("converter"),
    comparator.CIRCUIT: _comparator,
    optocoupler.CIRCUIT: _optocoupler,
    diode_matrix.CIRCUIT: _matrix,
}
"""Every circuit that a plan may choose, by its plain name."""
