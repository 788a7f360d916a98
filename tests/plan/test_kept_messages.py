"""What a wired point sends stays, whatever is added or shuffled; wishes win; the rest is listed."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from retrofit.catalogue.load import load_catalogue
from retrofit.midi.recorded import message_text, sent_by_point
from retrofit.plan.build import plan_conversion
from retrofit.plan.model import ConversionPlan
from retrofit.survey.job import Job

CATALOGUE = load_catalogue()
WIRING = {"owner": "us", "contact": "reed"}


def division(name: str, **more: Any) -> dict[str, Any]:
    """Return a division."""
    return {"id": name, **more}


def manual(name: str, count: int = 13, **more: Any) -> dict[str, Any]:
    """Return a manual of its own division, from note 36."""
    compass = {"lowest": 36, "count": count}
    return {"id": name, "kind": "manual", "division": name, "compass": compass, "wiring": WIRING, **more}


def listed(name: str, kind: str, ids: list[str], home: str, **more: Any) -> dict[str, Any]:
    """Return stops, pistons or toe studs."""
    points = [{"id": point} for point in ids]
    return {"id": name, "kind": kind, "division": home, "points": points, "wiring": WIRING, **more}


def shoes(name: str, ids: list[str], home: str) -> dict[str, Any]:
    """Return shoes with potentiometers."""
    points = [{"id": point, "sensor": "potentiometer"} for point in ids]
    return {"id": name, "kind": "shoes", "division": home, "points": points, "wiring": WIRING}


def planned(
    divisions: list[dict[str, Any]], groups: list[dict[str, Any]], messages: dict[str, str] | None = None
) -> ConversionPlan:
    """Return the plan of these divisions and groups, with these messages recorded."""
    content = {
        "format": 1,
        "instrument": {"name": "invented test console"},
        "divisions": divisions,
        "groups": groups,
        "messages": messages or {},
    }
    return plan_conversion(Job.model_validate(content), CATALOGUE)


def sent(plan: ConversionPlan) -> dict[str, str]:
    """Return what every point sends, as it is recorded."""
    messages = {p.point.id: p.message for p in plan.points if p.message}
    uses = sent_by_point(messages, {p.point.id: p.shoe for p in plan.points if p.shoe})
    return {point: message_text(use) for point, use in uses.items()}


def bytes_sent(plan: ConversionPlan) -> dict[str, object]:
    """Return the bytes of every contact, and the controller of every shoe."""
    return {p.point.id: (p.message, p.shoe) for p in plan.points}


def rules_of(plan: ConversionPlan) -> set[str]:
    """Return the rules that spoke."""
    return {finding.rule for finding in plan.findings}


WIRED = [division("great", progress="wired"), division("rail", progress="proven")]
TOUCH: dict[str, Any] = {"contacts": [{"id": "key"}, {"id": "second"}]}


def first_groups(stops: int) -> list[dict[str, Any]]:
    """Return the groups that are wired first: keys with a second touch, stops, pistons and shoes."""
    return [
        manual("great", **TOUCH),
        listed("tabs", "stops", [f"t{n}" for n in range(stops)], "rail"),
        listed("slip", "pistons", ["p0", "p1", "p2"], "great"),
        shoes("pedals", ["swell", "choir"], "rail"),
    ]


@settings(max_examples=40, deadline=None)
@given(
    stops=st.sampled_from([3, 20, 110]),
    new_divisions=st.lists(st.sampled_from(["n1", "n2", "n3"]), unique=True),
    divisions_first=st.booleans(),
    more_keys=st.integers(0, 24),
    stops_before=st.integers(0, 30),
    stops_after=st.integers(0, 30),
    data=st.data(),
)
def test_no_byte_of_a_wired_point_changes_while_the_job_grows(
    stops: int,
    new_divisions: list[str],
    divisions_first: bool,
    more_keys: int,
    stops_before: int,
    stops_after: int,
    data: st.DataObject,
) -> None:
    """Divisions, manuals, stops, pistons, shoes and keys are added anywhere: what is wired sends what it sent."""
    first = planned(WIRED, first_groups(stops))
    added = [division(name) for name in new_divisions]
    manuals = [manual(name, **TOUCH) for name in new_divisions]
    great, tabs, slip, pedals = first_groups(stops)
    order = [{"id": f"a{n}"} for n in range(stops_before)] + data.draw(st.permutations(tabs["points"]))
    tabs["points"] = order + [{"id": f"z{n}"} for n in range(stops_after)]
    slip["points"] = [{"id": "p9"}, *slip["points"]]
    pedals["points"] = [{"id": "great", "sensor": "potentiometer"}, *pedals["points"]]
    great["compass"] = {"lowest": 36, "count": 13 + more_keys}
    wired = data.draw(st.permutations([great, tabs, slip, pedals]))
    groups = [*manuals, *wired] if data.draw(st.booleans()) else [*wired, *manuals]
    grown = planned([*added, *WIRED] if divisions_first else [*WIRED, *added], groups, sent(first))
    was, now = bytes_sent(first), bytes_sent(grown)
    assert {point: now[point] for point in was} == was
    assert grown.message_changes == ()
    new = [message for point, message in sent(grown).items() if point not in was]
    assert set(new).isdisjoint(sent(first).values())
    assert len(set(new)) == len(new)


def test_without_a_record_a_division_in_front_would_shift_the_channels() -> None:
    """The property above is not idle: the same growth of a job that records nothing changes bytes."""
    first = planned(WIRED, first_groups(3))
    grown = planned([division("n1"), *WIRED], [manual("n1"), *first_groups(3)])
    assert sent(grown)["great.36"] != sent(first)["great.36"]


def test_a_new_key_of_a_wired_manual_plays_on_its_channel() -> None:
    """The compass grows and the division lies behind another by now: its new keys follow the wired ones."""
    first = planned(WIRED, first_groups(3))
    grown = planned([division("n1"), *WIRED], [manual("n1"), manual("great", 20, **TOUCH)], sent(first))
    assert sent(grown)["great.50"] == "note 50 on channel 1"
    assert sent(grown)["great.50.second"] == sent(first)["great.40.second"].replace("40", "50")


RECORDED = {"tabs.a": "controller 20 on channel 1", "tabs.b": "controller 22 on channel 1"}


def tabs(points: list[dict[str, Any]], **wanted: Any) -> list[dict[str, Any]]:
    """Return a stop rail with these points and wishes."""
    return [{**listed("tabs", "stops", [], "rail"), "points": points, "wanted": wanted}]


A, B = {"id": "a"}, {"id": "b"}


@pytest.mark.parametrize(
    ("points", "wanted", "a", "b"),
    [
        ([A, B], {}, "controller 20 on channel 1", "controller 22 on channel 1"),
        ([A | {"message": {"controller": 21}}, B], {}, "controller 21 on channel 1", "controller 22 on channel 1"),
        ([A | {"message": {"channel": 5}}, B], {}, "controller 3 on channel 5", "controller 22 on channel 1"),
        ([A, B], {"channel": 4}, "controller 3 on channel 4", "controller 9 on channel 4"),
        ([A, B], {"message": "note"}, "note 0 on channel 1", "note 1 on channel 1"),
        ([A, B], {"first_number": 30}, "controller 30 on channel 1", "controller 31 on channel 1"),
        ([A, B], {"channel": 1, "first_number": 20}, "controller 20 on channel 1", "controller 22 on channel 1"),
    ],
)
def test_only_a_wish_that_says_otherwise_changes_what_is_recorded(
    points: list[dict[str, Any]], wanted: dict[str, Any], a: str, b: str
) -> None:
    """A wish of the point or of its group wins over the record, and the finding names each point that differs."""
    plan = planned([division("rail", progress="wired")], tabs(points, **wanted), RECORDED)
    now = {"tabs.a": a, "tabs.b": b}
    assert sent(plan) == now
    assert {c.point: c.proposed for c in plan.message_changes} == {p: m for p, m in now.items() if RECORDED[p] != m}
    assert ("message-differs-from-recorded" in rules_of(plan)) is (now != RECORDED)
    assert "message-would-change" not in rules_of(plan)


def test_a_channel_that_the_division_names_wins_over_the_record() -> None:
    """The channel of a wired division is changed on purpose: all of it moves there, and that is said."""
    plan = planned([division("rail", progress="wired", channel=7)], tabs([A, B]), RECORDED)
    assert {message.rpartition(" ")[2] for message in sent(plan).values()} == {"7"}
    assert "message-differs-from-recorded" in rules_of(plan)


def test_a_new_point_between_wired_ones_takes_a_number_that_is_free() -> None:
    """The numbers that follow a wished first one are taken, so the new tab in front gets the next."""
    recorded = {"tabs.a": "controller 102 on channel 1", "tabs.b": "controller 103 on channel 1"}
    points = [{"id": "new"}, A, B]
    plan = planned([division("rail", progress="wired")], tabs(points, first_number=102), recorded)
    assert sent(plan) == recorded | {"tabs.new": "controller 104 on channel 1"}


def test_a_recorded_point_that_is_not_wired_is_listed_when_it_would_change() -> None:
    """Two tabs change places before anything is wired: each would send what the other sent."""
    first = planned([division("rail")], tabs([A, B]))
    swapped = planned([division("rail")], tabs([B, A]), sent(first))
    was = sent(first)
    assert [(c.point, c.recorded, c.proposed, c.wired) for c in swapped.message_changes] == [
        ("tabs.b", was["tabs.b"], was["tabs.a"], False),
        ("tabs.a", was["tabs.a"], was["tabs.b"], False),
    ]
    said = next(finding for finding in swapped.findings if finding.rule == "message-would-change")
    assert said.found.endswith("and 1 more with it")


def test_a_new_point_never_takes_what_is_recorded_of_another() -> None:
    """A tab added in front of recorded ones that are not wired takes a number of its own, and nothing changes."""
    first = planned([division("rail")], tabs([A, B]))
    grown = planned([division("rail")], tabs([{"id": "new"}, A, B]), sent(first))
    assert grown.message_changes == ()
    assert sent(grown)["tabs.new"] not in sent(first).values()


def test_planning_again_what_was_recorded_changes_nothing() -> None:
    """A recorded plan is its own plan again, wired or not."""
    for divisions in (WIRED, [division("great"), division("rail")]):
        first = planned(divisions, first_groups(110))
        again = planned(divisions, first_groups(110), sent(first))
        assert sent(again) == sent(first)
        assert again.message_changes == ()


@settings(max_examples=40, deadline=None)
@given(
    stops=st.sampled_from([3, 30, 110]),
    wish=st.sampled_from([{}, {"channel": 1}, {"channel": 5}, {"first_number": 3}, {"first_number": 102}]),
    channels=st.sampled_from([{}, {"channel": 1}, {"channel": 6}]),
    progress=st.sampled_from(["wired", "proven"]),
    before=st.integers(0, 20),
    data=st.data(),
)
def test_wishes_that_stand_as_they_stood_never_change_a_wired_point(
    stops: int, wish: dict[str, Any], channels: dict[str, Any], progress: str, before: int, data: st.DataObject
) -> None:
    """Channels and first numbers that were there when the plan was recorded are no wish for something else."""
    divisions = [division("great", progress=progress, **channels), division("rail", progress=progress, **channels)]
    points: list[dict[str, Any]] = [{"id": f"t{n}"} for n in range(stops)]
    points[1]["message"] = {"controller": 119, "channel": 9}
    keys, pistons = manual("great", **TOUCH), listed("slip", "pistons", ["p0", "p1"], "rail")
    first = planned(divisions, [keys, *tabs(points, **wish), pistons])
    grown_points = [{"id": f"a{n}"} for n in range(before)] + data.draw(st.permutations(points))
    groups = data.draw(st.permutations([keys, *tabs(grown_points, **wish), pistons, manual("n1", **TOUCH)]))
    grown = planned(data.draw(st.permutations([*divisions, division("n1")])), groups, sent(first))
    was, now = bytes_sent(first), bytes_sent(grown)
    assert {point: now[point] for point in was if was[point] != (None, None)} == {
        point: message for point, message in was.items() if message != (None, None)
    }
    assert "message-differs-from-recorded" not in rules_of(grown)
