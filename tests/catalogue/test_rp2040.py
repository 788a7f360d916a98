"""The RP2040 board: pins and functions, limits, and the MIDI loop at 3.3 V."""

from __future__ import annotations

import pytest

from retrofit.catalogue.load import load_catalogue
from retrofit.catalogue.parts import Board, Pin

BOARD = load_catalogue().boards["rp2040"]
ON_THE_HEADERS = (*range(23), 25, *range(26, 29))
"""GP23, GP24 and GP29 stay on a plain board, GP25 is its lamp (common practice, no source)."""


def number(pin: Pin) -> int:
    """Return the number of a pin by its printed name."""
    return int(pin.name.removeprefix("GP"))


def pin_of(board: Board, use: str) -> int:
    """Return the number of the pin that the board keeps for a use, or gives the bus."""
    kept = [number(pin) for pin in board.pins if pin.reserved == use]
    given = [int(name.removeprefix("GP")) for name, each in board.bus_pins.items() if each == use]
    return (kept + given)[0]


def test_ports_are_the_pins_by_eights() -> None:
    """Pin n lies on port n // 8 at bit n % 8, as the firmware shifts the register of all pins."""
    assert tuple(number(pin) for pin in BOARD.pins) == ON_THE_HEADERS
    assert all((BOARD.ports.index(pin.port), pin.bit) == divmod(number(pin), 8) for pin in BOARD.pins)


def test_pins_have_the_functions_that_they_are_used_for() -> None:
    """RP2040 data sheet, table of GPIO functions: its columns repeat every four pins (SPI, UART) or two (I2C)."""

    def spi(pin: int) -> tuple[int, str]:
        return pin // 8 % 2, ("receive", "select", "clock", "transmit")[pin % 4]

    def uart(pin: int) -> tuple[int, str]:
        return (pin + 4) // 8 % 2, ("transmit", "receive", "clear to send", "ready to send")[pin % 4]

    def two_wire(pin: int) -> tuple[int, str]:
        return pin // 2 % 2, ("data", "clock")[pin % 2]

    assert spi(pin_of(BOARD, "chain data in")) == (0, "receive")
    assert spi(pin_of(BOARD, "chain clock")) == (0, "clock")
    assert uart(pin_of(BOARD, "MIDI out")) == (1, "transmit")
    assert uart(pin_of(BOARD, "MIDI receive")) == (1, "receive")
    assert two_wire(pin_of(BOARD, "bus data")) == (1, "data")
    assert two_wire(pin_of(BOARD, "bus clock")) == (1, "clock")


def test_converter_channels_begin_at_pin_26() -> None:
    """Channel n is pin 26 + n (RP2040 data sheet, 4.9)."""
    channels = {pin.converter: number(pin) for pin in BOARD.pins if pin.converter is not None}
    assert channels == {0: 26, 1: 27, 2: 28}


def test_input_levels_hold_over_the_whole_supply() -> None:
    """0.8 V and 2.0 V at 3.3 V (RP2040 data sheet, electrical characteristics) hold at either end of the supply."""
    supply, figures = BOARD.figures["supply"], BOARD.figures
    assert figures["vil_fraction"].greatest * supply.greatest == pytest.approx(0.8, rel=1e-3)
    assert figures["vih_fraction"].least * supply.least == pytest.approx(2.0, rel=1e-3)


def test_the_loop_of_the_midi_socket_suits_its_pin() -> None:
    """3.3 V through 33 Ω, 10 Ω and the receiver's 220 Ω: 6.08 mA with an LED of 1.7 V, 7.98 mA with one of 1.2 V.

    Resistors of the MIDI 1.0 electrical specification update of 2014 (from memory); the pin is set to drive 12 mA.
    """
    socket, supply = BOARD.midi_socket, BOARD.figures["supply"].usual
    ohms = socket.series.usual + socket.series_data.usual + 220
    assert (socket.series.usual, socket.series_data.usual) == (33, 10)
    assert 1e3 * (supply - 1.7) / ohms == pytest.approx(6.08, abs=0.01)
    assert 1e3 * (supply - 1.2) / ohms == pytest.approx(7.98, abs=0.01)
    assert (BOARD.figures["supply"].greatest - 1.2) / ohms < BOARD.figures["pin_current"].greatest


def test_memory_and_clock() -> None:
    """264 KiB of RAM and 125 MHz (RP2040 data sheet), 2 MiB of flash on a plain board, 12 bits of converter."""
    assert (BOARD.ram_bytes, BOARD.flash_bytes, BOARD.clock_hz) == (264 * 1024, 2 * 1024 * 1024, 125_000_000)
    assert BOARD.figures["converter_bits"].usual == 12


def test_the_chain_is_never_clocked_faster_than_wiring_bears() -> None:
    """Every divider of the serial port that is offered is a power of two that the firmware's table takes."""
    assert BOARD.clock_hz / BOARD.spi_dividers[0] <= BOARD.figures["chain_clock_limit"].greatest
    assert all(divider in (2, 4, 8, 16, 32, 64, 128, 256) for divider in BOARD.spi_dividers)
