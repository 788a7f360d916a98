"""Optocouplers and zeners against their published tables."""

from __future__ import annotations

import pytest

from retrofit.catalogue.figures import Read
from retrofit.catalogue.isolators import load_optocouplers, load_zeners


@pytest.mark.parametrize(
    ("part", "least", "greatest"),
    [("pc817", 0.5, 6.0), ("ltv817", 0.5, None), ("4n35", 1.0, None), ("h11aa1", 0.2, None), ("tlp290", 0.5, 4.0)],
)
def test_transfer_ratio_is_the_printed_one(part: str, least: float, greatest: float | None) -> None:
    """Least and greatest: Sharp PC817, Lite-On DS-70-96-0016, Broadcom 4N35, Vishay 83608, Toshiba TLP290(SE."""
    ratio = load_optocouplers()[part].figures["transfer_ratio"]
    assert (ratio.min, ratio.max) == (least, greatest)
    assert ratio.read is Read.IN_SOURCE


def test_couplers_for_both_directions() -> None:
    """Vishay H11AA1 and Toshiba TLP290 take current both ways and so have no reverse limit; the others have one."""
    both = {part.id for part in load_optocouplers().values() if part.both_ways}
    assert both == {"h11aa1", "tlp290"}
    limited = {part.id for part in load_optocouplers().values() if "reverse_volts" in part.figures}
    assert limited == set(load_optocouplers()) - both


def test_release_of_the_application_note() -> None:
    """Vishay application note 45, table 1: 22 µs at 3.3 kΩ."""
    figures = load_optocouplers()["pc817"].figures
    assert figures["release_with_pull_up"].usual == 22e-6
    assert figures["pull_up_of_release"].usual == 3.3e3


def test_zeners_rise_and_hold_their_nominal_value() -> None:
    """Each zener's printed span holds the value in its name, and the voltages rise through the file."""
    zeners = list(load_zeners().values())
    for zener in zeners:
        nominal = float(zener.name.removeprefix("BZX79-C").replace("V", "."))
        assert zener.figures["volts"].least <= nominal <= zener.figures["volts"].greatest
        assert zener.figures["leakage_volts"].usual < zener.figures["volts"].least
    lows = [zener.figures["volts"].least for zener in zeners]
    assert lows == sorted(lows)
