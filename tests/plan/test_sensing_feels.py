"""What the organ feels: states of our board, sums over a group and over a supply."""

from __future__ import annotations

import pytest

from retrofit.circuits.sense.design import Felt, SenseDesign, Verdict
from retrofit.circuits.sense.line import Line
from retrofit.plan.sensing.feels import felt_states
from retrofit.plan.sensing.model import BoardState
from tests.plan.jobs import DIVIDER, GREAT, HEAD, ORGANS, WEAK_SUPPLY, keys, plan_of

FELT = Felt(on_ua=5.0, idle_ua=-7.0, off_ua=11.0, open_ua=-2.0, shorted_ua=13.0, shorted_rail_ua=None)
DESIGN = SenseDesign("a circuit", True, True, (), (), FELT)
LINES = Line(None, None, lines_at_once=61)
FED = 'commons = [{ name = "bus", supply = "keying" }]\n'


@pytest.mark.parametrize(("fed_by_usb", "pulled_ua"), [(False, -7.0), (True, 11.0)])
def test_every_state_is_felt_by_line_and_by_group(fed_by_usb: bool, pulled_ua: float) -> None:
    """The greater current counts while our board is on; a pulled USB lead is a dead board only where it feeds it."""
    felt = {state.state: state for state in felt_states(LINES, DESIGN, fed_by_usb=fed_by_usb)}
    lines = {state: found.line_ua for state, found in felt.items()}
    assert lines == {
        BoardState.ON: -7.0,
        BoardState.OFF: 11.0,
        BoardState.OPEN: -2.0,
        BoardState.SHORTED: 13.0,
        BoardState.SHORTED_TO_RAIL: None,
        BoardState.USB_PULLED: pulled_ua,
    }
    assert felt[BoardState.OFF].group_ma == pytest.approx(61 * 0.011)
    assert felt[BoardState.SHORTED_TO_RAIL].group_ma is None


def test_nothing_is_felt_of_a_circuit_that_was_not_chosen() -> None:
    """No circuit, no figures."""
    assert felt_states(LINES, None, fed_by_usb=False) == ()


def test_a_supply_feels_every_line_that_it_feeds() -> None:
    """The supply's current is the sum over the lines of its groups, and its sag that current through its resistance.

    12.9 V at 0.1 A and 11.0 V at 0.3 A are 9.5 Ω by Ohm's law; the meter's error only makes the worst case greater.
    """
    other = keys().replace('id = "great"', 'id = "choir"', 1)
    plan = plan_of(HEAD + GREAT + WEAK_SUPPLY + keys() + ORGANS + FED + DIVIDER + other + ORGANS + FED + DIVIDER)
    felt = plan.supplies_felt[0]
    assert felt.groups == ("great", "choir")
    each_ma = [state.group_ma for sensed in plan.sensing for state in sensed.feels if state.state is BoardState.ON]
    assert felt.total_ma == pytest.approx(sum(abs(ma or 0.0) for ma in each_ma), rel=1e-6)
    assert felt.sag.result is not None
    nominal = 100 * (felt.total_ma or 0.0) / 1e3 * 9.5 / 11.0
    assert nominal < felt.sag.result.value < 1.5 * nominal
    assert felt.fuse.result is not None
    assert felt.fuse.result.value == pytest.approx(100 * (0.3 * 1.01 + (felt.total_ma or 0.0) / 1e3) / 0.4)


def test_a_supply_that_was_not_read_is_unknown_and_not_fine() -> None:
    """Without volts and currents of the supply neither sag nor fuse is judged."""
    bare = '[[supplies]]\nid = "keying"\n'
    felt = plan_of(HEAD + GREAT + bare + keys() + ORGANS + FED + DIVIDER).supplies_felt[0]
    assert felt.total_ma is not None
    assert (felt.sag.verdict, felt.fuse.verdict) == (Verdict.UNKNOWN, Verdict.UNKNOWN)
    assert "volts of the supply" in felt.sag.missing


def test_a_line_that_cannot_be_summed_leaves_its_supply_unknown() -> None:
    """One group whose load nobody can compute makes the sum unknown."""
    unread = keys().replace('id = "great"', 'id = "choir"', 1) + '[groups.wiring]\nowner = "organ"\n' + FED
    plan = plan_of(HEAD + GREAT + WEAK_SUPPLY + keys() + ORGANS + FED + DIVIDER + unread + DIVIDER)
    felt = plan.supplies_felt[0]
    assert felt.groups == ("great", "choir")
    assert felt.total_ma is None
    assert felt.sag.verdict is Verdict.UNKNOWN


def test_readings_of_a_supply_that_contradict_each_other_give_no_resistance() -> None:
    """A supply whose volts rise with its current has no source resistance: unknown, with a reason, never negative."""
    rising = WEAK_SUPPLY.replace('"11,0 V"', '"14,9 V"')
    felt = plan_of(HEAD + GREAT + rising + keys() + ORGANS + FED + DIVIDER).supplies_felt[0]
    assert felt.sag.verdict is Verdict.UNKNOWN
    assert felt.fuse.verdict is not Verdict.UNKNOWN
