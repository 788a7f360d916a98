"""Where wires end on multiplexers and expanders, by input name and pin number."""

from __future__ import annotations

import pytest

from retrofit.catalogue.load import load_catalogue
from retrofit.papers.inputs import Input, input_of
from retrofit.scan.addresses import Address, ExpanderAddress, MultiplexerAddress
from retrofit.scan.allocate import lay_out
from retrofit.scan.requests import GroupRequest, InterfaceWord, PlaceRequest

BOARD = load_catalogue().boards["atmega2560"]


def end_of(address: Address, interface: InterfaceWord, inputs: int, *, inverted: bool) -> Input:
    """Return where the wire of a single point ends that is wired at an address."""
    request = GroupRequest("g", interface, 0, (PlaceRequest("g.0", inverted),), multiplexer_inputs=inputs)
    return input_of(address, lay_out([request], BOARD, fixed={"g.0": address}).layout, BOARD)


@pytest.mark.parametrize(
    ("inputs", "number", "pin"),
    [(8, 0, 13), (8, 3, 12), (8, 7, 4), (16, 0, 9), (16, 7, 2), (16, 8, 23), (16, 15, 16)],
)
def test_inputs_of_a_multiplexer(inputs: int, number: int, pin: int) -> None:
    """Y0 to Y7 of the 74HC4051 and Y0 to Y15 of the 74HC4067: Nexperia, pin descriptions, from memory."""
    found = end_of(MultiplexerAddress(10, number), "multiplexer", inputs, inverted=True)
    assert found == Input(f"Y{number}", f"multiplexer 10 pin {pin}", "low")


@pytest.mark.parametrize(("number", "name", "pin"), [(0, "GPA0", 21), (6, "GPA6", 27), (8, "GPB0", 1), (14, "GPB6", 7)])
def test_inputs_of_an_expander(number: int, name: str, pin: int) -> None:
    """GPA0 to GPB6 of the 28-pin MCP23017: Microchip DS20001952C, pin names, from memory."""
    assert end_of(ExpanderAddress(2, number), "expander", 16, inverted=False) == Input(
        name, f"expander 2 pin {pin}", "high"
    )
