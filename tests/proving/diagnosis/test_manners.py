"""How contacts sound over time: a stand-in with bounce and decay, heard by the live engine, told by the diagnosis."""

from __future__ import annotations

from functools import cache

import pytest

from retrofit.proving.diagnosis.causes import Cause, Kind
from retrofit.proving.diagnosis.manners import HUM_HZ, hum_hz
from retrofit.proving.evidence import HeardPoint
from tests.proving.diagnosis.consoles import Console, console, keys
from tests.proving.diagnosis.timed import timed_diagnosis

FIRST_EDGE = ', debounce = { family = "first-edge", hold_ms = 3 }'


@cache
def console_of(interface: str) -> Console:
    """Return 37 keys whose board tells every edge that lasts longer than three milliseconds."""
    diodes = "schottky" if interface == "matrix" else ""
    return console(interface, keys("great", 36, 37, interface, diodes, FIRST_EDGE))


@pytest.mark.parametrize("interface", ["chain", "matrix"])
def test_a_sound_console_is_not_accused_of_its_manners(interface: str) -> None:
    """A slow person who holds keys for unequal times shows no manner."""
    assert [timed_diagnosis(console_of(interface), seed=seed).causes for seed in range(5)] == [()] * 5


@pytest.mark.parametrize("interface", ["chain", "matrix"])
def test_a_dirty_contact_chatters(interface: str) -> None:
    """A contact that breaks again and again while it is held is named, and no other."""
    assert timed_diagnosis(console_of(interface), "dirty contact great.50").causes == (
        Cause(Kind.CHATTER, ("great.50",)),
    )


def test_a_key_that_lets_go_late_is_asked_for_before_it_is_named() -> None:
    """One key that stays on half a second longer, every time that it is asked for, lets go late."""
    found = timed_diagnosis(console_of("chain"), "late release great.60 500")
    assert found.causes == (Cause(Kind.LATE, ("great.60",)),)


def test_a_group_whose_keys_run_into_each_other_lets_go_late() -> None:
    """All keys still sound when the next one is struck, though each was let go before: a decay before the tap."""
    found = timed_diagnosis(console_of("chain"), "late release great 1000")
    assert found.causes == (Cause(Kind.LATE, ("great",)),)


def test_a_decay_no_longer_than_a_finger_is_not_accused() -> None:
    """A release that is 40 ms late cannot be told from a finger."""
    assert timed_diagnosis(console_of("chain"), "late release great 40").causes == ()


@pytest.mark.parametrize("hz", HUM_HZ)
def test_a_supply_with_gaps_hums(hz: int) -> None:
    """Contacts that break in the rhythm of the mains while held are fed by a supply that is not smoothed."""
    assert timed_diagnosis(console_of("chain"), f"hum great {hz}").causes == (Cause(Kind.HUM, ("great",)),)


def test_a_manner_is_told_beside_a_plug_turned_round() -> None:
    """A contact that chatters and lies in a turned plug: both are named."""
    found = timed_diagnosis(console_of("chain"), "dirty contact great.47", "turn connector J3")
    assert set(found.causes) == {Cause(Kind.TURNED, ("J3",)), Cause(Kind.CHATTER, ("great.47",))}


@pytest.mark.parametrize(
    ("ons", "held_us", "frequencies"),
    [(25, 500_000, (50,)), (24, 498_000, ()), (50, 500_000, (100,)), (7, 140_000, ()), (40, 1_000_000, ())],
)
def test_a_rhythm_is_counted_in_periods(ons: int, held_us: int, frequencies: tuple[int, ...]) -> None:
    """From the first on to the last off there is a period less than there are ons, and part of one; few prove nothing.

    24 ons within 498 ms are 46.2 to 48.2 a second, which is no mains.
    """
    assert hum_hz(HeardPoint("great.36", 0, held_us, 2 * ons)) == frequencies


def test_a_contact_that_never_went_off_has_no_rhythm() -> None:
    """Of a contact that is still on nobody knows how long it was held."""
    assert hum_hz(HeardPoint("great.36", 0, None, 60)) == ()
