"""Places on multiplexers and expanders: which come first, which pins lie behind them, what a wired address may be."""

from __future__ import annotations

import pytest

from retrofit.scan.addresses import Address, ExpanderAddress, MultiplexerAddress, PinAddress
from retrofit.scan.allocate import lay_out
from retrofit.scan.requests import GroupRequest, LayoutResult
from tests.scan.requests import BOARD, group


def place(*requests: GroupRequest, fixed: dict[str, Address] | None = None) -> LayoutResult:
    """Return the layout on the ATmega2560 board."""
    return lay_out(requests, BOARD, fixed=fixed or {})


def test_eight_contacts_lie_on_one_input_of_eight_multiplexers() -> None:
    """Positions 0 to 7 share input 0, position 8 begins input 1; a second group begins an input of its own."""
    layout = place(group("a", 9, "multiplexer"), group("b", 2, "multiplexer")).layout
    assert layout.addresses["a.7"] == MultiplexerAddress(8, 0)
    assert layout.addresses["a.8"] == MultiplexerAddress(1, 1)
    assert layout.addresses["b.1"] == MultiplexerAddress(2, 2)
    (bank,) = layout.banks
    assert (bank.multiplexers, bank.inputs, len(bank.select_pins)) == (8, 16, 4)


def test_banks_of_unlike_parts_are_apart_and_share_their_select_lines() -> None:
    """Eight-input parts need the three lower lines of the four that sixteen inputs need."""
    eight, sixteen = place(group("a", 70, "multiplexer", inputs=8), group("b", 9, "multiplexer")).layout.banks[::2]
    assert (eight.inputs, sixteen.inputs) == (8, 16)
    assert sixteen.select_pins[:3] == eight.select_pins
    assert sixteen.common_port != eight.common_port


def test_a_full_bank_is_followed_by_another() -> None:
    """The 129th contact lies on the ninth multiplexer."""
    layout = place(group("a", 129, "multiplexer")).layout
    assert layout.addresses["a.128"] == MultiplexerAddress(9, 0)
    assert [bank.number for bank in layout.banks] == [1, 2]


def test_seven_pins_of_each_port_of_an_expander_take_contacts() -> None:
    """Pins 7 and 15 are outputs alone (Microchip DS20001952D), so that an expander reads fourteen contacts."""
    layout = place(group("a", 15, "expander")).layout
    assert layout.addresses["a.6"] == ExpanderAddress(1, 6)
    assert layout.addresses["a.7"] == ExpanderAddress(1, 8)
    assert layout.addresses["a.14"] == ExpanderAddress(2, 0)
    assert layout.expanders == (1, 2)
    assert {layout.pins[pin] for pin in ("20", "21")} == {"bus data", "bus clock"}


def test_a_port_of_an_expander_belongs_to_one_group() -> None:
    """A second group begins on the next port."""
    assert place(group("a", 3, "expander"), group("b", 1, "expander")).layout.addresses["b.0"] == ExpanderAddress(1, 8)


def test_the_bus_is_full_after_eight_expanders() -> None:
    """Of 113 contacts the last finds no place, and the reason says what is full."""
    (problem,) = place(group("a", 113, "expander")).unplaced
    assert (problem.point, problem.conflict) == ("a.112", False)
    assert "8 expanders" in problem.allowed


def test_multiplexers_end_with_the_ports() -> None:
    """Four whole ports give 512 places; the lanes that the firmware counts are not the limit here."""
    result = place(group("a", 513, "multiplexer"))
    assert [problem.point for problem in result.unplaced] == ["a.512"]


REFUSED = [
    ("output pin", "expander", ExpanderAddress(1, 7), "is no input of an expander"),
    ("pin 16", "expander", ExpanderAddress(1, 16), "is no input of an expander"),
    ("ninth expander", "expander", ExpanderAddress(9, 0), "is no input of an expander"),
    ("expander 0", "expander", ExpanderAddress(0, 0), "is no input of an expander"),
    ("input 16", "multiplexer", MultiplexerAddress(1, 16), "finds no pins"),
    ("multiplexer 0", "multiplexer", MultiplexerAddress(0, 1), "finds no pins"),
    ("fifth bank", "multiplexer", MultiplexerAddress(33, 1), "finds no pins"),
    ("another kind", "multiplexer", ExpanderAddress(1, 1), "finds no pins"),
]


@pytest.mark.parametrize(
    ("interface", "address", "words"), [row[1:] for row in REFUSED], ids=[row[0] for row in REFUSED]
)
def test_a_wired_address_that_cannot_be_is_refused(interface: str, address: Address, words: str) -> None:
    """The point is listed as a conflict with the reason, and has no address."""
    request = group("g", 2, "multiplexer" if interface == "multiplexer" else "expander")
    result = place(request, fixed={"g.1": address})
    (problem,) = result.unplaced
    assert problem.conflict
    assert words in problem.found
    assert "g.1" not in result.layout.addresses


@pytest.mark.parametrize(
    ("address", "taken", "words"),
    [
        (ExpanderAddress(1, 0), PinAddress("20", "D", 1), "finds the pins of the bus taken"),
        (MultiplexerAddress(1, 0), PinAddress("A8", "K", 0), "finds no pins"),
    ],
)
def test_pins_that_are_wired_otherwise_are_not_taken(address: Address, taken: PinAddress, words: str) -> None:
    """A direct contact that sits on a pin that the part needs keeps it."""
    interface = "expander" if isinstance(address, ExpanderAddress) else "multiplexer"
    request = group("g", 1, "expander" if interface == "expander" else "multiplexer")
    result = place(group("switch", 1, "pins"), request, fixed={"switch.0": taken, "g.0": address})
    (problem,) = result.unplaced
    assert words in problem.found


def test_an_upper_input_that_is_wired_wants_sixteen_inputs() -> None:
    """Input 9 exists on a sixteen-input part alone, whatever the group asks for."""
    (bank,) = place(group("g", 1, "multiplexer", inputs=8), fixed={"g.0": MultiplexerAddress(2, 9)}).layout.banks
    assert (bank.inputs, len(bank.select_pins), bank.multiplexers) == (16, 4, 2)
