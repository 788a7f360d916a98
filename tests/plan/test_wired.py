"""Points that are wired never move; what a new plan would move is said."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from retrofit.plan.model import ConversionPlan
from tests.plan.jobs import GREAT, HEAD, OURS, SOUND, keys, plan_of, stops

WIRED_GREAT = '[[divisions]]\nid = "great"\nprogress = "wired"\n[[divisions]]\nid = "rail"\n'


def _rail(count: int) -> str:
    points = ", ".join(f'{{ id = "t{n}" }}' for n in range(count))
    return stops(points).replace('division = "great"', 'division = "rail"') + OURS


def _addresses(plan: ConversionPlan) -> dict[str, str]:
    return {point.point.id: str(point.address) for point in plan.points}


def _recorded(plan: ConversionPlan, group: str) -> str:
    rows = (f'"{point}" = "{place}"\n' for point, place in _addresses(plan).items() if point.startswith(f"{group}."))
    return "[addresses]\n" + "".join(rows)


@settings(max_examples=25, deadline=None)
@given(before=st.integers(1, 40), after=st.integers(1, 120), more_keys=st.integers(0, 20), rail_first=st.booleans())
def test_wired_points_keep_their_addresses_while_the_job_grows(
    before: int, after: int, more_keys: int, rail_first: bool
) -> None:
    """Whatever is added, in front or behind, a point of a wired division stays where it was recorded."""
    first = plan_of(HEAD + WIRED_GREAT + keys(13) + OURS + _rail(before))
    great, rail = keys(13 + more_keys) + OURS, _rail(after)
    groups = rail + great if rail_first else great + rail
    grown = plan_of(HEAD + WIRED_GREAT + groups + _recorded(first, "great"))
    was, now = _addresses(first), _addresses(grown)
    assert {point: now[point] for point in was if point.startswith("great.")} == {
        point: place for point, place in was.items() if point.startswith("great.")
    }
    assert len(set(now.values())) == len(now)
    assert grown.errors == ()


def test_a_recorded_point_that_is_not_wired_is_listed_when_it_would_move() -> None:
    """The plan proposes the fresh address, and names the point with both places."""
    plan = plan_of(SOUND + '[addresses]\n"great.40" = "chain register 1 bit 7"\n')
    assert [(move.point, move.recorded, move.proposed) for move in plan.moves] == [
        ("great.40", "chain register 1 bit 7", "chain register 0 bit 4")
    ]


def test_a_recorded_address_that_still_holds_is_not_a_move() -> None:
    """Recording a plan and planning again moves nothing."""
    plan = plan_of(SOUND)
    assert plan_of(SOUND + _recorded(plan, "great")).moves == ()


def test_a_wired_point_that_lost_its_address_is_not_moved_in_silence() -> None:
    """The group is named with the first such point, where the plan puts it, and how many more there are."""
    text = HEAD + WIRED_GREAT + keys(4) + OURS + '[addresses]\n"great.36" = "chain register 0 bit 1"\n'
    (said,) = [finding for finding in plan_of(text).findings if finding.rule == "wired-point-without-address"]
    assert said.subject == "groups.great"
    assert "great.37 is of a wired division" in said.found
    assert "chain register 0 bit 0, and 2 more with it" in said.found


def test_a_wired_division_whose_addresses_are_all_recorded_is_not_accused() -> None:
    """Neither is one that is only planned."""
    text = HEAD + WIRED_GREAT + keys(13) + OURS + _rail(3)
    plan = plan_of(text + _recorded(plan_of(text), "great"))
    assert "wired-point-without-address" not in {finding.rule for finding in plan.findings}


def test_two_points_on_one_line_share_one_address() -> None:
    """A stud parallel to a piston is the same place, and only the first of them sends."""
    studs = stops('{ id = "a" }').replace('id = "rail"', 'id = "studs"').replace('"stops"', '"toe-studs"')
    twins = '[[same_lines]]\npoints = ["rail.t0", "studs.a"]\n'
    plan = plan_of(HEAD + WIRED_GREAT + _rail(1) + studs + OURS + twins)
    first, second = plan.points
    assert first.address == second.address is not None
    assert first.message is not None
    assert second.message is None


def test_a_left_out_point_keeps_its_place_and_sends_nothing() -> None:
    """The neighbours of a contact that was left out on purpose lie where they would lie with it."""
    left_out = keys(13, 'points = [{ note = 37, condition = "left-out" }]')
    with_gap, whole = plan_of(HEAD + GREAT + left_out + OURS), plan_of(SOUND)
    assert _addresses(with_gap) == _addresses(whole)
    sends = {point.point.id: point.message is not None for point in with_gap.points}
    assert [point for point, sending in sends.items() if not sending] == ["great.37"]
    assert with_gap.layout.lanes[0].used == 0b11111101
