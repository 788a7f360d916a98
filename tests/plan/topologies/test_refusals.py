"""Every refusal fires where it should, with its reason, and not elsewhere."""

from __future__ import annotations

import pytest

from retrofit.circuits.sense.design import Verdict
from retrofit.plan.topologies.kinds import Kind
from retrofit.plan.topologies.model import Counts, ScanTime
from retrofit.plan.topologies.refusals import refusals
from retrofit.plan.topologies.wires import BUS_WINDOW, CLOCK_SLACK
from tests.plan.jobs import GREAT, HEAD, ORGANS, job_of, keys, stops
from tests.plan.topologies.consoles import compared, demand_of, only_group, rail, wiring

BUS = 'commons = [{ name = "bass bus" }]'


def said(contacts: int, kind: Kind, **kwargs: str) -> str:
    """Return what is said against one way of reading a rail."""
    return " | ".join(refusal.sentence for refusal in only_group(rail(contacts, **kwargs)).of(kind).refusals)


def test_a_common_that_would_have_to_be_split() -> None:
    """A bus of 61 contacts cannot be a row of 8, with diodes or without."""
    for kind in (Kind.MATRIX, Kind.MATRIX_DRIVEN):
        assert "'bass bus' joins contacts 1 to 61 and would have to be split" in said(
            61, kind, diodes="silicon", extra=BUS
        )
    assert said(8, Kind.MATRIX, diodes="silicon", extra=BUS) == ""


def test_no_diodes() -> None:
    """Without a diode at each contact three keys sound a fourth; a diode that was found takes the refusal away."""
    assert "61 would have to be fitted" in said(61, Kind.MATRIX, diodes="none")
    assert said(61, Kind.MATRIX, diodes="silicon") == ""


def test_a_driven_row_wants_proven_diodes() -> None:
    """A row driven high against one driven low is only safe behind sound diodes."""
    assert "joined to another by any diode that is shorted" in said(16, Kind.MATRIX_DRIVEN)


def test_more_rows_than_a_matrix_has() -> None:
    """65 contacts want nine rows of eight."""
    assert "9 rows of 8" in said(65, Kind.MATRIX, diodes="silicon")
    assert said(64, Kind.MATRIX, diodes="silicon") == ""


def test_pins_run_short() -> None:
    """A board has no more pins than it leaves free, and the least that is too many is refused."""
    _, bench = demand_of(rail(8))
    assert said(bench.free_pins, Kind.PINS) == ""
    assert f"the board has {bench.free_pins} free" in said(bench.free_pins + 1, Kind.PINS)


def test_an_empty_pull_up_window() -> None:
    """UM10204: a bus along 30 m of cable has more than 400 pF, and no pull-up is quick enough."""
    candidate = only_group(rail(16, metres="30")).of(Kind.TWO_WIRE)
    assert "no pull-up serves the two-wire bus" in candidate.refusals[0].found
    assert next(j for j in candidate.judged if j.criterion == BUS_WINDOW).verdict is Verdict.FAILS
    assert said(16, Kind.TWO_WIRE, metres="1") == ""


def test_more_expanders_than_addresses() -> None:
    """Ex 11: 17 expanders want three buses (19 of 14 inputs do as well); eight are the most of one."""
    assert "19 expanders are too many for one bus, which tells 8 apart: 3 buses" in said(263, Kind.TWO_WIRE)
    assert said(8 * 14, Kind.TWO_WIRE) == ""


def test_a_scan_that_takes_too_long() -> None:
    """Eight expanders at 100 kHz take 3.84 ms and stay; at the same clock 32 would take 15 ms and are refused."""
    assert "one reading takes" not in said(8 * 14, Kind.TWO_WIRE, metres="3,2")
    assert "one reading takes 15" in said(31 * 14 + 1, Kind.TWO_WIRE, metres="0,5")


def test_lines_of_the_organ_are_not_fed() -> None:
    """No matrix and no direct pin comes on a line that the organ owns."""
    job = job_of(HEAD + GREAT + keys(13) + ORGANS)
    group = only_group(job)
    for kind in (Kind.MATRIX, Kind.MATRIX_DRIVEN, Kind.PINS):
        assert "the organ owns" in " ".join(refusal.found for refusal in group.of(kind).refusals)
    assert not group.of(Kind.CHAIN).refusals


def test_pulled_up_inputs_want_an_optocoupler_before_them() -> None:
    """A line that bears no load permits no optocoupler, and so no multiplexer or expander either."""
    weak = ORGANS.replace('"0,0 V"', '"0,0 V", source = "470k"').replace('"12,4 V"', '"12,4 V", source = "470k"')
    group = only_group(job_of(HEAD + GREAT + keys(13) + weak))
    for kind in (Kind.MUX_8, Kind.MUX_16, Kind.TWO_WIRE, Kind.SERIAL):
        words = " ".join(refusal.found for refusal in group.of(kind).refusals)
        assert "only an optocoupler may stand before them" in words
        assert "are pulled up to our supply" in words


def test_a_line_that_no_circuit_may_read_is_refused_on_the_chain_too() -> None:
    """Contacts that carry sound permit no circuit: nothing is recommended, and the remedy is a sensor."""
    group = only_group(job_of(HEAD + GREAT + keys(13) + ORGANS + "carries_audio = true\n"))
    (refusal,) = group.of(Kind.CHAIN).refusals
    assert "no circuit may read the line: the contact carries sound" in refusal.found
    assert "sensor" in refusal.remedy
    assert group.recommended is None


def test_a_line_that_was_not_read_is_unknown() -> None:
    """Without volts no circuit can be chosen, and the chain is neither refused nor good."""
    group = only_group(job_of(HEAD + GREAT + keys(13) + '[groups.wiring]\nowner = "organ"\n'))
    assert group.of(Kind.CHAIN).verdict is Verdict.UNKNOWN
    assert not group.of(Kind.CHAIN).refusals


def test_a_contact_that_no_longer_reads() -> None:
    """A contact of 22 kΩ against a pull-up of 10 kΩ fails every pulled-up input, and the figure says so."""
    text = wiring().replace('contact_resistance = "5"', 'contact_resistance = "22k"')
    group = only_group(job_of(HEAD + GREAT + stops('{ id = "a" }, { id = "b" }') + text))
    for kind in (Kind.PINS, Kind.CHAIN, Kind.MUX_8, Kind.TWO_WIRE, Kind.SERIAL):
        assert group.of(kind).refusals[0].found.startswith("low level")
    assert group.recommended is None
    assert compared(job_of(HEAD + GREAT + stops('{ id = "a" }, { id = "b" }') + text)).recommended is None


def test_a_cable_that_no_clock_serves() -> None:
    """On two kilometres of cable neither a chain nor serial expanders keep their slack."""
    group = only_group(rail(8, metres="2000"))
    for kind in (Kind.CHAIN, Kind.SERIAL):
        assert any(refusal.found.startswith(CLOCK_SLACK) for refusal in group.of(kind).refusals)


def test_more_bytes_than_the_firmware_counts() -> None:
    """The firmware counts 255 bytes of contacts; one more is refused, in every way of reading."""
    _, bench = demand_of(rail(8))
    for lanes, number in ((255, 0), (256, 1)):
        counts = Counts(places=8 * lanes, taken=8 * lanes, lanes=lanes, pins=3)
        found = refusals(Kind.CHAIN, demand_of(rail(8))[0], counts, ScanTime(1.0), (), bench)
        assert len(found) == number


@pytest.mark.parametrize("kind", list(Kind))
def test_an_owner_that_nobody_knows_stays_unknown(kind: Kind) -> None:
    """Without an owner no level is claimed: what is not refused is unknown."""
    candidate = only_group(rail(8, owner="unknown")).of(kind)
    assert candidate.verdict in (Verdict.UNKNOWN, Verdict.FAILS)
    assert any(judged.missing == "who owns the lines" for judged in candidate.judged)
