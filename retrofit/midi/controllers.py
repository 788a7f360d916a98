"""Controller numbers: name and standing (MIDI 1.0 Detailed Specification, Table III), and which are free for controls.

Read in copies of the table, not in the specification itself.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from enum import StrEnum

SOURCE = "MIDI 1.0 Detailed Specification, Table III"


class Standing(StrEnum):
    """What a controller number is to somebody who wants to use it for a stop or a shoe.

    `reserved` numbers do something to the receiver that no stop should do; `channel-mode` numbers are no controllers;
    `spared` numbers are the fine halves of reserved ones.  The rest are free, `undefined` ones first.
    """

    RESERVED = "reserved"
    CHANNEL_MODE = "channel-mode"
    SPARED = "spared"
    UNDEFINED = "undefined"
    GENERAL = "general-purpose"
    DEFINED = "defined"


@dataclass(frozen=True, slots=True)
class Controller:
    """A controller number with its name in the standard and its standing."""

    number: int
    name: str
    standing: Standing

    @property
    def free(self) -> bool:
        """True when a stop may use the number without moving anything else in the receiver on purpose."""
        return self.standing in (Standing.UNDEFINED, Standing.GENERAL, Standing.DEFINED)


EXPRESSION = 11
"""The controller of an expression shoe."""
GENERAL_PURPOSE = (16, 17, 18, 19, 80, 81, 82, 83)
"""General purpose controllers 1 to 8: meant by the standard for whatever a sender has, here further shoes."""

_NAMES = {
    0: "bank select",
    1: "modulation",
    2: "breath controller",
    4: "foot controller",
    5: "portamento time",
    6: "data entry",
    7: "channel volume",
    8: "balance",
    10: "pan",
    11: "expression",
    12: "effect control 1",
    13: "effect control 2",
    **{16 + i: f"general purpose {i + 1}" for i in range(4)},
    64: "damper pedal",
    65: "portamento on/off",
    66: "sostenuto",
    67: "soft pedal",
    68: "legato footswitch",
    69: "hold 2",
    **{70 + i: f"sound controller {i + 1}" for i in range(10)},
    **{80 + i: f"general purpose {i + 5}" for i in range(4)},
    84: "portamento control",
    88: "high resolution velocity prefix",
    **{91 + i: f"effects {i + 1} depth" for i in range(5)},
    96: "data increment",
    97: "data decrement",
    98: "NRPN (fine)",
    99: "NRPN (coarse)",
    100: "RPN (fine)",
    101: "RPN (coarse)",
    120: "all sound off",
    121: "reset all controllers",
    122: "local control",
    123: "all notes off",
    124: "omni off",
    125: "omni on",
    126: "mono on",
    127: "poly on",
}
_RESERVED = frozenset({0, 1, 6, 7, 10, 11, 32, 38, *range(64, 70), *range(96, 102)})
_SPARED = frozenset({33, 39, 42, 43})


def _name(number: int) -> str:
    if 32 <= number < 64:
        coarse = _NAMES.get(number - 32)
        return f"{coarse} (fine)" if coarse else "undefined (fine)"
    return _NAMES.get(number, "undefined")


def _standing(number: int) -> Standing:
    if number >= 120:
        return Standing.CHANNEL_MODE
    if number in _RESERVED:
        return Standing.RESERVED
    if number in _SPARED:
        return Standing.SPARED
    if number in GENERAL_PURPOSE:
        return Standing.GENERAL
    return Standing.UNDEFINED if _name(number).startswith("undefined") else Standing.DEFINED


CONTROLLERS = tuple(Controller(number, _name(number), _standing(number)) for number in range(128))
"""All 128 numbers, in order."""

_ORDER = (Standing.UNDEFINED, Standing.GENERAL, Standing.DEFINED)


def _preference(controller: Controller) -> tuple[int, bool, int]:
    return _ORDER.index(controller.standing), 32 <= controller.number < 64, controller.number


_FREE = tuple(controller.number for controller in sorted(filter(lambda c: c.free, CONTROLLERS), key=_preference))


def free_controllers(avoid: Collection[int] = ()) -> tuple[int, ...]:
    """Return the numbers that a stop may take, those first that the standard leaves undefined: no receiver minds them.

    General purpose numbers come next and defined ones last; inside each kind whole controllers come before the fine
    halves (32-63), and numbers rise.
    """
    return tuple(number for number in _FREE if number not in avoid)
