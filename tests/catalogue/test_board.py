"""The ATmega2560 board against the pin table of the stock AVR core."""

from __future__ import annotations

import re

import pytest

from retrofit.catalogue.load import load_catalogue
from tests.emulator.build import stock_core

BOARD = load_catalogue().boards["atmega2560"]
ROW = re.compile(r"_BV\( ?(?P<bit>\d) ?\)\s*,\s*// P(?P<port>[A-L]) (?P<same>\d) \*\* (?P<number>\d+) \*\*")
DIGITAL_PINS = 54


@pytest.fixture(name="core_text")
def _core_text() -> str:
    path = stock_core() / "variants" / "mega" / "pins_arduino.h"
    return path.read_text(encoding="utf-8")


def printed_name(number: int) -> str:
    """Return the name printed on the board for the core's pin number: the last sixteen are A0 to A15."""
    return str(number) if number < DIGITAL_PINS else f"A{number - DIGITAL_PINS}"


def test_every_pin_is_where_the_stock_core_has_it(core_text: str) -> None:
    """All 70 pins have the port and bit of `digital_pin_to_bit_mask_PGM` in pins_arduino.h, variant mega."""
    masks = core_text.split("digital_pin_to_bit_mask_PGM")[1].split("digital_pin_to_timer_PGM", maxsplit=1)[0]
    theirs = [(printed_name(int(row["number"])), row["port"], int(row["bit"])) for row in ROW.finditer(masks)]
    assert len(theirs) == 70
    assert [(pin.name, pin.port, pin.bit) for pin in BOARD.pins] == theirs


def test_converter_channels_are_those_of_the_stock_core(core_text: str) -> None:
    """Channel n is pin An, which the core defines as PIN_A0 (54) and following."""
    channels = {pin.converter: pin.name for pin in BOARD.pins if pin.converter is not None}
    defined = dict(re.findall(r"#define PIN_A(\d+)\s+\((\d+)\)", core_text))
    assert {int(n): printed_name(int(pin)) for n, pin in defined.items()} == channels


def test_chain_pins_are_the_serial_peripheral(core_text: str) -> None:
    """Data in, clock and load of the chain are the core's MISO, SCK and SS pins, and the board keeps them."""
    core = dict(re.findall(r"#define PIN_SPI_(\w+)\s+\((\d+)\)", core_text))
    assert BOARD.chain_pins == {core["MISO"]: "chain data in", core["SCK"]: "chain clock", core["SS"]: "chain load"}
    reserved = {pin.name for pin in BOARD.pins if pin.reserved}
    assert {core["MISO"], core["MOSI"], core["SCK"], core["SS"]} <= reserved


def test_serial_pins_are_kept() -> None:
    """USB serial and the MIDI line are not given to contacts; every reserved pin exists."""
    reserved = {pin.name: pin.reserved for pin in BOARD.pins if pin.reserved}
    assert set(reserved) == {"0", "1", "13", "18", "19", "50", "51", "52", "53"}
    assert reserved["18"] == "MIDI out"


def test_memory_and_clock() -> None:
    """Sizes of Atmel 2549 (ATmega2560): 8 KiB of data, 256 KiB of program, of which the boot loader keeps 8 KiB."""
    assert (BOARD.ram_bytes, BOARD.flash_bytes, BOARD.boot_bytes) == (8 * 1024, 256 * 1024, 8 * 1024)
    assert BOARD.clock_hz == 16_000_000


def test_port_order() -> None:
    """Every pin lies on a listed port, and the letter I is left out as on the chip."""
    assert "".join(BOARD.ports) == "ABCDEFGHJKL"
    assert {pin.port for pin in BOARD.pins} == set(BOARD.ports)


def test_a_pin_is_found_by_its_printed_name() -> None:
    """A printed name finds its pin, another name finds none."""
    pin = BOARD.pin("A8")
    assert pin is not None
    assert (pin.port, pin.bit, pin.converter) == ("K", 0, 8)
    assert BOARD.pin("A16") is None
