"""The isolation plan: what our ground is joined to, what crosses, and the hum of a shared return."""

from __future__ import annotations

import pytest

from retrofit.plan.sensing.isolation import hum_paths
from retrofit.plan.sensing.model import IsolationPlan
from tests.plan.jobs import FIRING, GREAT, HEAD, ORGANS, OURS, keys, plan_of


def _isolation(wanted: str = "", sense: str = "divider", wiring: str = ORGANS) -> IsolationPlan:
    wish = f'[groups.wanted]\nsense = "{sense}"\n'
    found = plan_of(HEAD + wanted + GREAT + keys() + wiring + wish).isolation
    assert found is not None
    return found


def test_a_divider_joins_our_ground_to_the_organ() -> None:
    """With a tap on the line every lead of ours crosses to the outside: MIDI, supply, and the lead for service."""
    isolation = _isolation()
    assert (isolation.joined_groups, isolation.isolated_groups) == (("great",), ())
    assert [(crossing.conductor, crossing.rated) for crossing in isolation.crossings] == [
        ("MIDI DIN lead", True),
        ("leads of our own supply", None),
        ("USB lead for service", None),
    ]


def test_an_optocoupler_keeps_our_ground_apart() -> None:
    """Where every line has an optocoupler nothing of ours is joined to the organ and nothing crosses."""
    isolation = _isolation(sense="optocoupler")
    assert isolation == IsolationPlan((), ("great",), (), ())


@pytest.mark.parametrize(("stated", "rated"), [("true", True), ("false", False), ('"unknown"', None)])
def test_a_usb_lead_is_as_safe_as_the_barrier_that_was_named(stated: str, rated: bool | None) -> None:
    """The lead that carries MIDI and supply crosses while the organ plays; only a rated isolator makes it safe."""
    wanted = f'[wanted]\nmidi_out = "usb"\nisolation_barrier = {stated}\n'
    crossings = _isolation(wanted).crossings
    assert {crossing.rated for crossing in crossings} == {rated}
    assert [crossing.when for crossing in crossings] == ["while the organ plays", "during service"]


def test_lines_of_ours_need_no_barrier() -> None:
    """A gutted console has nothing to be kept apart from."""
    found = plan_of(HEAD + GREAT + keys() + OURS).isolation
    assert found == IsolationPlan((), (), (), ())


@pytest.mark.parametrize(
    ("chassis", "sense", "errors"),
    [
        ("live", "divider", ["returns-would-be-joined"]),
        ("neither", "divider", ["returns-would-be-joined"]),
        ("return", "divider", []),
        ("unknown", "divider", []),
        ("live", "optocoupler", []),
    ],
)
def test_two_returns_are_joined_only_where_they_are_one(chassis: str, sense: str, errors: list[str]) -> None:
    """Two supplies with different poles on the chassis may not share our ground, unless one is kept apart."""
    text = FIRING["returns-would-be-joined"].replace('chassis = "live"', f'chassis = "{chassis}"')
    kept, _, last = text.rpartition('sense = "divider"')
    found = [finding.rule for finding in plan_of(f'{kept}sense = "{sense}"{last}').errors]
    assert [rule for rule in found if rule == "returns-would-be-joined"] == errors


def test_hum_through_a_shared_return() -> None:
    """Ex 14: 2.2 nF at 230 V and 50 Hz drive 0.159 mA; 20 pF at 115 V half of 1.445 µA, and so 0.72 µA.

    In 0.2 Ω the first is 31.8 µV, 70 dB below 100 mV; stated here for 0.1 Ω it lies 6 dB lower.
    """
    joined, through_barrier = hum_paths()
    assert joined.amps == pytest.approx(0.159e-3, rel=2e-3)
    assert joined.db == pytest.approx(-70 - 6.02, abs=0.1)
    assert through_barrier.amps * 115 / 230 == pytest.approx(0.72e-6, rel=5e-3)
