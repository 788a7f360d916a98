"""Which level means on: every way of sensing, with the readings that decide it."""

from __future__ import annotations

import pytest

from retrofit.plan.polarity import keyed_reads_high
from retrofit.survey.wishes import Interface
from tests.plan.jobs import DIVIDER, GREAT, HEAD, ORGANS, job_of, keys, plan_of, stops


def _reads_high(owner: str, sense: str, idle: str, keyed: str) -> bool | None:
    wiring = f'[groups.wiring]\nowner = "{owner}"\nidle = {{ volts = "{idle}" }}\nkeyed = {{ volts = "{keyed}" }}\n'
    job = job_of(HEAD + GREAT + keys() + wiring + f'[groups.wanted]\nsense = "{sense}"\n')
    return keyed_reads_high(job.groups[0], Interface.CHAIN)


@pytest.mark.parametrize(
    ("owner", "sense", "idle", "keyed", "high"),
    [
        ("us", "unknown", "unknown", "unknown", False),
        ("us", "pull-up", "unknown", "unknown", False),
        ("us", "pull-down", "unknown", "unknown", True),
        ("organ", "unknown", "0 V", "12 V", None),
        ("organ", "optocoupler", "0 V", "12 V", False),
        ("organ", "optocoupler", "12 V", "0 V", True),
        ("organ", "optocoupler", "0 V", "-15 V", False),
        ("organ", "optocoupler", "unknown", "12 V", None),
        ("organ", "divider", "0,2 V", "12,4 V", True),
        ("organ", "divider", "12 V", "0 V", False),
        ("organ", "divider", "-15 V", "0 V", True),
        ("organ", "divider", "wanders", "12 V", None),
        ("organ", "divider", "12 V", "12 V", None),
    ],
)
def test_level_follows_from_sensing_and_readings(
    owner: str, sense: str, idle: str, keyed: str, high: bool | None
) -> None:
    """A pulled-up contact reads low when closed, an optocoupler low when lit, a divider high at the higher volts."""
    assert _reads_high(owner, sense, idle, keyed) is high


def test_a_contact_that_is_closed_at_rest_is_inverted_once_more() -> None:
    """Of two tabs on one pulled-up register, the one that opens when drawn reads high when it is on."""
    wiring = '[groups.wiring]\nowner = "us"\n'
    plan = plan_of(HEAD + GREAT + stops('{ id = "a" }, { id = "b", rest = "closed" }') + wiring)
    lane = plan.layout.lanes[0]
    assert lane.points[:2] == ("rail.a", "rail.b")
    assert lane.invert & 0b11 == 0b01


@pytest.mark.parametrize("stated", [True, False])
@pytest.mark.parametrize("wish", ["[groups.wanted]\n", DIVIDER, '[groups.wanted]\nsense = "optocoupler"\n'])
def test_a_stated_level_is_held_against_the_circuit_that_was_chosen(wish: str, stated: bool) -> None:
    """Whatever circuit is chosen, wished or not: of the two statements the one that inverts every note is doubted."""
    text = HEAD + GREAT + keys() + ORGANS.replace('"12,4 V"', '"12,4 V", source = "10"') + wish
    level = plan_of(text).sensing[0].chosen
    assert level is not None
    said = {finding.rule for finding in plan_of(f"{text}keyed_reads_high = {str(stated).lower()}\n").findings}
    assert ("polarity-contradicts-readings" in said) is (stated != level.keyed_reads_high)
