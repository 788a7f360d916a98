"""The ATmega32U4 board against the pin table of the stock AVR core."""

from __future__ import annotations

import re

import pytest

from retrofit.catalogue.load import load_catalogue
from tests.emulator.build import stock_core

BOARD = load_catalogue().boards["atmega32u4"]
ROW = re.compile(r"_BV\((\d)\),\s*// D(\d+) - (?:(\w+) - )?P([B-F])(\d)")
LAMPS = {"17", "30"}
"""PB0 and PD5 drive the lamps of USB and are on no header."""
HEADER = {"14": "MISO", "15": "SCK", "16": "MOSI"}
"""Pins of the serial peripheral's own header, which bears no numbers."""


@pytest.fixture(name="core_text")
def _core_text() -> str:
    return (stock_core() / "variants" / "leonardo" / "pins_arduino.h").read_text(encoding="utf-8")


def printed_name(number: str, alias: str) -> str:
    """Return the name on the board for the core's pin number; A0 to A5 are pins 18 to 23."""
    return alias if re.fullmatch(r"A\d+", alias) else HEADER.get(number, number)


def pins_of(core_text: str) -> dict[str, tuple[str, int]]:
    """Return port and bit of every pin of `digital_pin_to_bit_mask_PGM` that has a name on the board."""
    masks = core_text.split("digital_pin_to_bit_mask_PGM")[1].split("digital_pin_to_timer_PGM", maxsplit=1)[0]
    found = {}
    for bit, number, alias, port, same_bit in ROW.findall(masks):
        assert bit == same_bit
        if int(number) < 24 and number not in LAMPS:
            found[printed_name(number, alias)] = (port, int(bit))
    return found


def test_every_pin_is_where_the_stock_core_has_it(core_text: str) -> None:
    """All pins with a name on the board have the port and bit of pins_arduino.h, variant leonardo."""
    theirs = pins_of(core_text)
    assert len(theirs) == 23
    assert {pin.name: (pin.port, pin.bit) for pin in BOARD.pins} == theirs


def test_converter_channels_are_those_of_the_stock_core(core_text: str) -> None:
    """`analog_pin_to_channel_PGM` gives the channel of A0 to A11, of which A6 and following are digital pins too."""
    table = core_text.split("analog_pin_to_channel_PGM[] = {")[1].split("}", maxsplit=1)[0]
    theirs = {}
    for channel, analog, digital in re.findall(r"(\d+),?\s*// (A\d+)\t+(?:D(\d+))?", table):
        theirs[digital or analog] = int(channel)
    assert len(theirs) == 12
    assert {pin.name: pin.converter for pin in BOARD.pins if pin.converter is not None} == theirs


def test_chain_and_bus_pins_are_the_cores(core_text: str) -> None:
    """The chain is on the core's MISO and SCK, its load line apart from the core's SS; the bus on SDA and SCL."""
    core = dict(re.findall(r"#define PIN_(?:SPI|WIRE)_(\w+)\s+\((\d+)\)", core_text))
    by_use = {use: name for name, use in BOARD.chain_pins.items()}
    assert by_use == {"chain data in": HEADER[core["MISO"]], "chain clock": HEADER[core["SCK"]], "chain load": "7"}
    assert core["SS"] in LAMPS
    assert BOARD.bus_pins == {core["SDA"]: "bus data", core["SCL"]: "bus clock"}


def test_what_the_board_keeps() -> None:
    """The line of DIN MIDI, the chain and the lamp are not given to contacts; every reserved pin exists."""
    reserved = {pin.name for pin in BOARD.pins if pin.reserved}
    assert reserved == {"0", "1", "7", "13", "MISO", "SCK", "MOSI"}


def test_memory_and_outlets() -> None:
    """As much data and program memory as boards.txt of the core leaves to a sketch; USB, and DIN if wanted."""
    boards = (stock_core() / "boards.txt").read_text(encoding="utf-8")
    assert BOARD.flash_bytes - BOARD.boot_bytes == int(re.findall(r"leonardo.upload.maximum_size=(\d+)", boards)[0])
    assert BOARD.ram_bytes == int(re.findall(r"leonardo.upload.maximum_data_size=(\d+)", boards)[0])
    assert BOARD.midi_outlets == ("usb", "din")
