"""Counts of every way of reading against worked examples and against what one can count on a bench."""

from __future__ import annotations

import pytest

from retrofit.plan.topologies.counts import count
from retrofit.plan.topologies.kinds import Kind
from retrofit.plan.topologies.model import Cost, Counts
from tests.plan.jobs import GREAT, HEAD, job_of, keys
from tests.plan.topologies.consoles import demand_of, only_group, rail, wiring

WHOLE = 263
"""Ex 9 to 11: three manuals of 61, 32 pedals and 48 stops, here as one rail."""


def counts_of(kind: Kind, contacts: int = WHOLE, **kwargs: str) -> Counts:
    """Return what one way of reading takes for a rail."""
    demand, bench = demand_of(rail(contacts, **kwargs))
    return count(kind, demand, bench)


def test_the_worked_chain() -> None:
    """Ex 9: 33 registers, 264 bits, 1 spare, on three pins."""
    counts = counts_of(Kind.CHAIN)
    assert (counts.devices, counts.places, counts.spare, counts.watched, counts.pins) == (33, 264, 1, 1, 3)


def test_the_worked_multiplexers() -> None:
    """Ex 10: 17 devices with 272 addresses; four select lines beside their commons."""
    counts = counts_of(Kind.MUX_16)
    assert (counts.devices, counts.places, counts.spare, counts.pins) == (17, 272, 9, 17 + 4)


def test_expanders_lose_two_inputs_each() -> None:
    """Ex 11 counts 17 of 16 inputs; Microchip DS20001952D makes two of them outputs, so that 19 of 14 are needed."""
    counts = counts_of(Kind.TWO_WIRE)
    assert (counts.devices, counts.places, counts.pins) == (19, 266, 2)


def test_a_matrix_of_61_keys() -> None:
    """Ex 7: 8 x 8 wires 16 lines and leaves three crossings; with no diode there, all 61 have to be fitted."""
    demand, bench = demand_of(job_of(HEAD + GREAT + keys(61) + wiring(diodes="silicon")))
    found = count(Kind.MATRIX, demand, bench)
    assert (found.lines, found.places, found.spare, found.diodes, found.pins) == (16, 64, 3, 0, 16)
    demand, bench = demand_of(job_of(HEAD + GREAT + keys(61) + wiring()))
    assert count(Kind.MATRIX, demand, bench).diodes == 61


def test_joints_of_one_register() -> None:
    """Eight contacts on a chain: 9 wires and 5 to the board have 28 ends; 16 leads, 9 leads, 2 for the capacitor."""
    assert counts_of(Kind.CHAIN, 8).joints == 2 * (9 + 5) + 16 + 9 + 2


def test_joints_of_eight_pins() -> None:
    """Eight contacts on pins: 9 wires with two ends each, and a network of nine leads."""
    found = counts_of(Kind.PINS, 8)
    assert (found.joints, found.devices, found.pins, found.spare) == (27, 0, 8, 0)


def test_serial_expanders_share_a_select_line_by_eights() -> None:
    """Eight parts on one select line by their address pins; the ninth begins another (Microchip DS20001952C)."""
    assert counts_of(Kind.SERIAL, 8 * 14).pins == 3 + 1
    assert counts_of(Kind.SERIAL, 8 * 14 + 1).pins == 3 + 2


@pytest.mark.parametrize(("parts", "cost"), [(20, Cost.LOW), (21, Cost.MEDIUM), (100, Cost.MEDIUM), (101, Cost.HIGH)])
def test_cost_is_told_by_the_number_of_parts(parts: int, cost: Cost) -> None:
    """Up to 20 parts are low, up to 100 medium, more are high; common practice, no source."""
    assert Counts(places=0, taken=0, devices=parts).cost is cost


def test_every_candidate_counts_the_same_contacts() -> None:
    """A rail of 263 is compared as 263 contacts in every way."""
    group = only_group(rail(WHOLE))
    assert group.contacts == WHOLE
    assert {candidate.counts.taken for candidate in group.candidates} == {WHOLE}
