"""Multiplexers, expanders and their packages against their published tables."""

from __future__ import annotations

import pytest

from retrofit.catalogue.front_ends import load_firmware_memory, load_packages, load_serial_expanders
from retrofit.catalogue.load import load_catalogue

CATALOGUE = load_catalogue()


@pytest.mark.parametrize(("part", "inputs", "typical"), [("74hc4051", 8, 100), ("74hc4067", 16, 80)])
def test_multiplexers_have_the_printed_resistance(part: str, inputs: int, typical: float) -> None:
    """Nexperia 74HC4051 rev. 9, table 6, and 74HC4067 rev. 8: inputs, and typical resistance at 4.5 V."""
    multiplexer = CATALOGUE.multiplexers[part]
    assert (multiplexer.inputs, multiplexer.figures["on_resistance"].usual) == (inputs, typical)


def test_both_expanders_have_the_printed_levels() -> None:
    """Microchip DS20001952C, table 1-1: VIL 0.2 VDD, VIH 0.8 VDD, 1 µA, pull-up 40/75/115 µA; 10 MHz on SPI."""
    serial = load_serial_expanders()["mcp23s17"]
    for figures in (CATALOGUE.expanders["mcp23017"].figures, serial.figures):
        assert (figures["vil_fraction"].max, figures["vih_fraction"].min, figures["leakage"].max) == (0.2, 0.8, 1e-6)
        pull_up = figures["pull_up_current"]
        assert (pull_up.min, pull_up.typ, pull_up.max) == (40e-6, 75e-6, 115e-6)
    assert serial.figures["clock_max"].greatest == 10e6


def test_levels_of_an_expander_at_3_3_volts() -> None:
    """Microchip DS20001952C at 3.3 V: 0.66 V and 2.64 V."""
    figures = CATALOGUE.expanders["mcp23017"].figures
    assert round(figures["vil_fraction"].greatest * 3.3, 2) == 0.66
    assert round(figures["vih_fraction"].least * 3.3, 2) == 2.64


def test_every_chip_that_is_compared_has_a_package() -> None:
    """Leads are known for the register, the multiplexers and the expanders; the data sheets say 16, 24 and 28."""
    leads = load_packages()
    assert leads == {"74hc165": 16, "74hc4051": 16, "74hc4067": 24, "mcp23017": 28, "mcp23s17": 28}


def test_every_board_has_the_memory_of_its_firmware() -> None:
    """A board without these figures could not be compared."""
    assert load_firmware_memory().keys() == CATALOGUE.boards.keys()


def test_the_greatest_resistance_is_that_of_the_hottest_column() -> None:
    """Nexperia 74HC4051 rev. 9, table 6: 180 Ω at 25 °C, 225 Ω at 85 °C, 270 Ω at 125 °C."""
    assert CATALOGUE.multiplexers["74hc4051"].figures["on_resistance"].greatest == 270


def test_the_expander() -> None:
    """Microchip DS20001952C, table 1-1; fourteen inputs since revision D of the data sheet."""
    figures = CATALOGUE.expanders["mcp23017"].figures
    assert (figures["vil_fraction"].greatest, figures["vih_fraction"].least) == (0.2, 0.8)
    pull_up = figures["pull_up_current"]
    assert (pull_up.least, pull_up.usual, pull_up.greatest) == (40e-6, 75e-6, 115e-6)
    assert figures["inputs"].usual == 14
