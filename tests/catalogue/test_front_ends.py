"""Multiplexers and expanders against their published tables."""

from __future__ import annotations

import pytest

from retrofit.catalogue.load import load_catalogue

CATALOGUE = load_catalogue()


@pytest.mark.parametrize(("part", "inputs", "usual_ohms"), [("74hc4051", 8, 100), ("74hc4067", 16, 80)])
def test_multiplexers(part: str, inputs: int, usual_ohms: float) -> None:
    """Typical resistance at 4.5 V: Nexperia 74HC4051 rev. 9, table 6 (peak), and 74HC4067 rev. 8, features."""
    found = CATALOGUE.multiplexers[part]
    assert (found.inputs, found.figures["on_resistance"].usual) == (inputs, usual_ohms)


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
