"""The ways of reading contacts that are compared."""

from __future__ import annotations

from enum import StrEnum

from retrofit.survey.wishes import Interface


class Kind(StrEnum):
    """A way of reading a group's contacts.

    A matrix leaves the rows that it does not read open, or drives them to the supply.
    """

    PINS = "direct pins"
    CHAIN = "shift-in chain"
    MATRIX = "diode matrix, rows open"
    MATRIX_DRIVEN = "diode matrix, rows driven"
    MUX_8 = "8:1 multiplexers"
    MUX_16 = "16:1 multiplexers"
    TWO_WIRE = "I2C expanders"
    SERIAL = "SPI expanders"


MATRICES = (Kind.MATRIX, Kind.MATRIX_DRIVEN)
MULTIPLEXERS = {Kind.MUX_8: "74hc4051", Kind.MUX_16: "74hc4067"}
"""The part of each kind of multiplexer."""
WAYS = {Kind.MUX_8: 8, Kind.MUX_16: 16}
EXPANDERS = {Kind.TWO_WIRE: "mcp23017", Kind.SERIAL: "mcp23s17"}
"""The part of each kind of expander."""

_WORDS = {
    Kind.PINS: "pins",
    Kind.CHAIN: "chain",
    Kind.MATRIX: "matrix",
    Kind.MUX_8: "multiplexer",
    Kind.MUX_16: "multiplexer",
    Kind.TWO_WIRE: "expander",
}
"""The word by which a job asks for it."""


def wish_word(kind: Kind) -> str | None:
    """Return the word by which a job asks for this way of reading; None where the firmware does not know it."""
    word = _WORDS.get(kind)
    return word if word in set(Interface) else None


def kind_of(interface: Interface, multiplexer_inputs: int) -> Kind:
    """Return what an interface of the job stands for, a multiplexer by how many inputs it has."""
    if interface is Interface.MULTIPLEXER:
        return Kind.MUX_8 if multiplexer_inputs == 8 else Kind.MUX_16
    return [kind for kind, word in _WORDS.items() if word == interface.value][-1]
