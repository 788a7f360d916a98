"""Registers, diodes, contacts and wire against their published tables."""

from __future__ import annotations

import pytest

from retrofit.catalogue.figures import CatalogueError, Read
from retrofit.catalogue.load import load_catalogue
from retrofit.catalogue.parts import Cleanliness, Contact
from retrofit.catalogue.wire import awg_area_mm2, awg_diameter_mm, wire_ohms

CATALOGUE = load_catalogue()
REGISTER = CATALOGUE.registers["74hc165"]
FOOT_M = 0.3048


@pytest.mark.parametrize(
    ("volts", "celsius", "nanoseconds"), [(2.0, 25, 165), (4.5, 25, 33), (6.0, 25, 28), (4.5, 85, 41), (4.5, 125, 50)]
)
def test_register_delay_is_the_printed_one(volts: float, celsius: int, nanoseconds: float) -> None:
    """Clock to output of NXP 74HC_HCT165 rev. 3, table 7, maximum."""
    assert REGISTER.propagation_ns.at(volts, celsius) == nanoseconds


def test_register_clock_between_printed_voltages() -> None:
    """At 3.3 V a support answer of Texas Instruments gives about 12 MHz by straight-line interpolation."""
    assert REGISTER.clock_max_mhz.at(3.3, 125) == pytest.approx(12, abs=0.5)


def test_register_levels_between_printed_voltages() -> None:
    """SCLS116G rows at 2 V and 4.5 V give VIH 2.358 V and VIL 0.942 V at 3.3 V; at 5 V the row at 6 V is used too."""
    assert REGISTER.vih_min.at(3.3, 25) == pytest.approx(1.5 + 1.3 / 2.5 * 1.65)
    assert REGISTER.vil_max.at(3.3, 25) == pytest.approx(0.5 + 1.3 / 2.5 * 0.85)
    assert REGISTER.vil_max.at(5.0, 85) == pytest.approx(1.35 + 0.5 / 1.5 * 0.45)


def test_a_temperature_between_columns_takes_the_hotter() -> None:
    """At 40 °C the column up to 85 °C holds."""
    assert REGISTER.propagation_ns.at(4.5, 40) == REGISTER.propagation_ns.at(4.5, 85)


@pytest.mark.parametrize(("volts", "celsius"), [(1.8, 25), (6.5, 25), (4.5, 126)])
def test_outside_the_printed_table_nothing_is_said(volts: float, celsius: float) -> None:
    """A limit is never extrapolated beyond the printed voltages and temperatures."""
    with pytest.raises(CatalogueError, match="prints no limit"):
        REGISTER.propagation_ns.at(volts, celsius)


def test_diode_takes_the_next_printed_current() -> None:
    """Philips BAT85: 0.32 V at 1 mA, 0.4 V at 10 mA; between them the larger; above 100 mA nothing."""
    diode = CATALOGUE.diodes["bat85"]
    assert [diode.forward_max(ma) for ma in (1, 2, 10)] == [0.32, 0.4, 0.4]
    with pytest.raises(CatalogueError, match="ends at 100 mA"):
        diode.forward_max(101)


def test_silicon_diode_row() -> None:
    """Panjit 1N4148: at most 1.0 V at 10 mA, 4 pF."""
    diode = CATALOGUE.diodes["1n4148"]
    assert diode.forward_max(0.5) == 1.0
    assert diode.figures["capacitance"].greatest == 4e-12


def test_nothing_is_assumed_of_an_unknown_contact() -> None:
    """The unknown kind has no bounce and no judgement, and its first edge is not believed."""
    contact = CATALOGUE.contacts["unknown"]
    assert contact.bounce is None
    assert contact.cleanliness is Cleanliness.UNKNOWN
    assert not contact.first_edge


def test_first_edge_wants_a_clean_contact_with_a_known_bounce() -> None:
    """A reed's first edge is believed; a dirty contact's and one without bounce are not."""
    reed = CATALOGUE.contacts["reed"]
    assert reed.first_edge
    assert not Contact("x", "x", Cleanliness.DIRTY, reed.bounce).first_edge
    assert not Contact("x", "x", Cleanliness.CLEAN, None).first_edge


def test_published_bounce_figures() -> None:
    """Coto RI-02 page 2 (0.10 ms, 0.30 ms to operate with bounce); Ganssle's 16 switches (1.6 and 6.2 ms)."""
    small, snap = CATALOGUE.contacts["reed-small"].bounce, CATALOGUE.contacts["microswitch"].bounce
    assert small is not None
    assert snap is not None
    assert (small.usual, small.greatest) == (0.1, 0.3)
    assert (snap.usual, snap.greatest) == (1.6, 6.2)


@pytest.mark.parametrize(
    ("gauge", "diameter", "ohms_per_1000_feet"),
    [(16, 1.2908, 4.016), (18, 1.0237, 6.385), (20, 0.8118, 10.15), (22, 0.6438, 16.14), (24, 0.5106, 25.67),
     (26, 0.4049, 40.81), (28, 0.3211, 64.90), (30, 0.2546, 103.2)],
)  # fmt: skip
def test_wire_table(gauge: int, diameter: float, ohms_per_1000_feet: float) -> None:
    """Solid copper at 20 °C: diameters of ASTM B258 and resistances of Floyd, table 3."""
    assert awg_diameter_mm(gauge) == pytest.approx(diameter, abs=5e-5)
    ohms = wire_ohms(1000 * FOOT_M, awg_area_mm2(gauge))
    assert ohms == pytest.approx(ohms_per_1000_feet, rel=1e-3)


def test_cable_capacitance_agrees_with_its_impedance() -> None:
    """3M TS-0672-B: the balanced capacitance is the delay over the impedance, 5.68 ns/m over 97 Ω."""
    pair = CATALOGUE.cables["twisted-pair"]
    assert pair.picofarads_per_metre.least == pytest.approx(1e3 * pair.nanoseconds_per_metre.usual / 97, rel=0.01)


def test_the_pins_of_the_register_fill_its_package() -> None:
    """A 16-pin package has 15 pins in use; 7, the complement of the output, is free (TI SCLS116; from memory)."""
    pinout = REGISTER.pinout
    others = (pinout.serial_out, pinout.serial_in, pinout.load, pinout.clock, pinout.clock_inhibit)
    assert sorted((*pinout.inputs, *others, pinout.supply, pinout.ground)) == [*range(1, 7), *range(8, 17)]
    assert pinout.read is Read.FROM_MEMORY


def test_the_loop_of_the_midi_socket_is_near_five_milliamperes() -> None:
    """5 V through both resistors, the receiver's 220 Ω and an LED of 1.7 V drive the 5 mA of IEC 63035, clause 4.1."""
    board = CATALOGUE.boards["atmega2560"]
    series = board.midi_socket.series.usual
    assert board.midi_socket.series_data.usual == series
    amps = (board.figures["supply"].usual - 1.7) / (2 * series + 220)
    assert amps == pytest.approx(5e-3, rel=0.01)
