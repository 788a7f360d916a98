"""Messages of whole jobs: defaults, wishes, and what is said when something cannot be given."""

from __future__ import annotations

from typing import Any

import mido
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from retrofit.midi.assign import assign_messages
from retrofit.midi.assignment import Assignment, NoteCode
from retrofit.midi.clashes import find_clashes
from retrofit.midi.controllers import CONTROLLERS
from retrofit.midi.messages import ShoeMessage
from retrofit.survey.job import Job
from retrofit.survey.points import PointKind, list_points
from tests.midi.jobs import assign, controls, jobs, keys, make_job, roller, shoes


def on(assignment: Assignment, point: str) -> str:
    """Return a point's on bytes as hex."""
    return assignment.messages[point].on.hex(" ")


def off(assignment: Assignment, point: str) -> str:
    """Return a point's off bytes as hex."""
    return assignment.messages[point].off.hex(" ")


def numbers(assignment: Assignment, group: str) -> list[tuple[int, int]]:
    """Return channel and number of each message of a group, as mido reads them."""
    found = []
    for point, message in assignment.messages.items():
        if point.startswith(f"{group}."):
            read = mido.Message.from_bytes(message.on)
            field = {"note_on": "note", "control_change": "control", "program_change": "program"}[read.type]
            found.append((read.channel + 1, getattr(read, field)))
    return found


def said(assignment: Assignment) -> list[tuple[NoteCode, str, int | None]]:
    """Return code, subject and value of each note."""
    return [(note.code, note.subject, note.value) for note in assignment.notes]


def test_keys_send_their_notes_on_the_channel_of_their_division() -> None:
    """Divisions take channels in the file's order; a key sends note-on, and velocity zero when it rises."""
    found = assign([keys("great"), keys("swell", wanted={"channel": None})])
    assert found.channels == {"great": 1, "swell": 2}
    assert (on(found, "great.60"), off(found, "great.60")) == ("90 3c 64", "90 3c 00")
    assert on(found, "swell.36") == "91 24 64"


def test_note_off_and_velocity_as_wanted() -> None:
    """The job's velocity and kind of note-off are sent; a note-off without measured velocity says 64 (MIDI 1.0)."""
    found = assign([keys("great")], wanted={"note_off": "note-off", "velocity": 80})
    assert (on(found, "great.60"), off(found, "great.60")) == ("90 3c 50", "80 3c 40")


def test_percussion_channel_is_skipped_by_itself_and_obeyed_when_named() -> None:
    """Channel 10 is percussion (General MIDI System Level 1, RP-003): only a division that names it gets it."""
    names = [f"d{i}" for i in range(10)]
    assert assign([keys(name) for name in names]).channels["d9"] == 11
    divisions = [{"id": "great", "channel": 10}, {"id": "swell"}]
    assert assign([keys("great"), keys("swell")], divisions=divisions).channels == {"great": 10, "swell": 1}


def test_named_channels_are_not_given_away() -> None:
    """A channel that a group, a set of contacts or a point names is never the default of a division."""
    groups = [
        keys("great", contacts=[{"id": "key"}, {"id": "second", "channel": 1}]),
        controls("tabs", "stops", "great", 1, wanted={"channel": 2}),
        {**controls("slip", "pistons", "great", 0), "points": [{"id": "p", "message": {"channel": 3}}]},
    ]
    found = assign(groups)
    assert found.channels == {"great": 4}
    assert (on(found, "great.60.second"), on(found, "tabs.c1"), on(found, "slip.p")) == (
        "90 3c 64",
        "b1 03 7f",
        "92 00 64",
    )


def test_more_divisions_than_channels() -> None:
    """Sixteen divisions on fifteen channels: the last has none, sends nothing, and is named."""
    found = assign([keys(f"d{i}") for i in range(16)])
    assert said(found) == [(NoteCode.CHANNELS_RUN_OUT, "d15", None)]
    assert not any(point.startswith("d15.") for point in found.messages)
    assert len(found.messages) == 15 * 61


def test_second_touch_of_a_division_gets_a_channel_of_its_own() -> None:
    """Two contacts of one key cannot send one note on one channel; the second set moves, and it is said where."""
    found = assign([keys("great", contacts=[{"id": "key"}, {"id": "second"}]), keys("swell")])
    assert (on(found, "great.60"), on(found, "great.60.second")) == ("90 3c 64", "92 3c 64")
    assert said(found) == [(NoteCode.CONTINUED_ON_CHANNEL, "great", 3)]
    assert found.notes[0].informs_only


def test_split_leaves_share_the_channel_of_their_division() -> None:
    """Sets of contacts that play different notes stay together."""
    halves = [{"id": "bass", "highest": 59}, {"id": "treble", "lowest": 60}]
    found = assign([keys("great", contacts=halves)])
    assert {channel for channel, _ in numbers(found, "great")} == {1}
    assert found.notes == ()


def test_a_second_set_for_another_division_yields_to_that_divisions_own_keys() -> None:
    """Great keys that also play the swell get their own channel, though they come first in the file."""
    found = assign([keys("great", contacts=[{"id": "key"}, {"id": "to-swell", "division": "swell"}]), keys("swell")])
    assert found.channels == {"great": 1, "swell": 2}
    assert (on(found, "swell.60"), on(found, "great.60.to-swell")) == ("91 3c 64", "92 3c 64")


def test_second_touch_without_a_channel_left_is_named() -> None:
    """When no channel is left the second set sends nothing, and its group is named."""
    manuals = [keys("d0", contacts=[{"id": "key"}, {"id": "second"}]), *(keys(f"d{i}") for i in range(1, 15))]
    found = assign(manuals)
    assert said(found) == [(NoteCode.CHANNELS_RUN_OUT, "d0", 1)]
    assert "d0.60.second" not in found.messages


def test_notes_out_of_range_are_named_with_their_value() -> None:
    """Transposed beyond 0 to 127 a key sends nothing and is named with the note that it would have sent."""
    found = assign([keys("great", 120, 8, contacts=[{"id": "key", "transpose": 5}])])
    assert said(found) == [(NoteCode.OUT_OF_RANGE, f"great.{note}", note + 5) for note in range(123, 128)]
    assert numbers(found, "great") == [(1, 125), (1, 126), (1, 127)]


def test_stops_are_states_on_controllers_that_no_receiver_minds() -> None:
    """Tabs send 127 and 0 on undefined controllers first (MIDI 1.0 Table III)."""
    found = assign([controls("tabs", "stops", "great", 24)])
    assert (on(found, "tabs.c1"), off(found, "tabs.c1")) == ("b0 03 7f", "b0 03 00")
    sent = [number for _, number in numbers(found, "tabs")]
    assert {CONTROLLERS[number].name for number in sent} == {"undefined"}


def test_a_full_channel_is_continued_on_the_next_unused_one() -> None:
    """A rail of 100 tabs fills the 96 free controllers of a channel; the rest goes on elsewhere, said once."""
    found = assign([controls("tabs", "stops", "great", 100), keys("great")])
    assert [channel for channel, _ in numbers(found, "tabs")] == [1] * 96 + [2] * 4
    assert said(found) == [(NoteCode.CONTINUED_ON_CHANNEL, "tabs", 2)]


def test_numbers_run_out_with_the_channels() -> None:
    """When every channel but one is skipped, tabs beyond 96 are named one by one."""
    found = assign([controls("tabs", "stops", "great", 98)], wanted={"skip_channels": list(range(2, 17))})
    assert said(found) == [(NoteCode.NUMBERS_RUN_OUT, f"tabs.c{i}", None) for i in (97, 98)]


def test_controllers_to_avoid_are_avoided() -> None:
    """Numbers that the job rules out are used by no tab and no shoe."""
    found = assign(
        [controls("tabs", "stops", "great", 3), shoes("shoe", "great", 1)], wanted={"controllers_to_avoid": [3, 14, 11]}
    )
    assert [number for _, number in numbers(found, "tabs")] == [9, 15, 20]
    assert found.shoes == {"shoe.s1": ShoeMessage(1, 16)}


@pytest.mark.parametrize(
    ("kind", "message", "sent"),
    [
        ("stops", "note", ("90 14 64", "90 14 00")),
        ("stops", "program", ("c0 14", "")),
        ("stops", "controller", ("b0 14 7f", "b0 14 00")),
        ("stops", None, ("b0 14 7f", "b0 14 00")),
        ("pistons", None, ("90 14 64", "90 14 00")),
        ("toe-studs", "program", ("c0 14", "")),
    ],
)
def test_a_groups_wish_sets_kind_and_first_number(kind: str, message: str | None, sent: tuple[str, str]) -> None:
    """Kind and first number of a group are those wished for; a program is sent on the way in only."""
    wanted: dict[str, Any] = {"first_number": 20} | ({"message": message} if message else {})
    found = assign([controls("row", kind, "great", 2, wanted=wanted)])
    assert (on(found, "row.c1"), off(found, "row.c1")) == sent
    assert numbers(found, "row") == [(1, 20), (1, 21)]


def test_controllers_from_a_first_number_pass_over_reserved_ones() -> None:
    """From 30 upward: bank select LSB 32 and the fine half 33 are passed over (MIDI 1.0 Table III)."""
    found = assign([controls("tabs", "stops", "great", 4, wanted={"first_number": 30})])
    assert [number for _, number in numbers(found, "tabs")] == [30, 31, 34, 35]


def test_numbers_from_a_first_number_may_run_out() -> None:
    """Notes past 127 are named with their number; controllers past 119 have none."""
    found = assign([controls("slip", "pistons", "great", 2, wanted={"first_number": 127})])
    assert said(found) == [(NoteCode.OUT_OF_RANGE, "slip.c2", 128)]
    found = assign([controls("tabs", "stops", "great", 2, wanted={"first_number": 119})])
    assert said(found) == [(NoteCode.NUMBERS_RUN_OUT, "tabs.c2", None)]


def test_pistons_keep_clear_of_the_keys_of_their_channel() -> None:
    """Pistons take the lowest notes that no key of the channel plays: below C2, then above C7."""
    found = assign([controls("slip", "pistons", "great", 40), keys("great")])
    assert numbers(found, "slip") == [(1, note) for note in (*range(36), *range(97, 101))]


def test_a_points_own_message_wins() -> None:
    """A point's wish is sent as it stands, on its own channel, and defaults keep clear of it."""
    points: list[dict[str, Any]] = [
        {"id": "a", "message": {"controller": 64, "channel": 5}},
        {"id": "b"},
        {"id": "c", "message": {"controller": 3}},
    ]
    tabs = {**controls("tabs", "stops", "great", 0), "points": points}
    found = assign([tabs, keys("great", points=[{"note": 60, "message": {"program": 19}}])])
    assert (on(found, "tabs.a"), on(found, "tabs.b"), on(found, "tabs.c")) == ("b4 40 7f", "b0 09 7f", "b0 03 7f")
    assert (on(found, "great.60"), off(found, "great.60")) == ("c0 13", "")


def test_first_shoe_is_expression_and_others_are_general_purpose() -> None:
    """Expression 11 for a division's first shoe; further shoes and any roller take 16 upward (MIDI 1.0 Table III)."""
    found = assign([roller("crescendo", "great"), shoes("pair", "great", 2), shoes("other", "swell", 1)])
    assert found.shoes == {
        "crescendo": ShoeMessage(1, 16),
        "pair.s1": ShoeMessage(1, 11),
        "pair.s2": ShoeMessage(1, 17),
        "other.s1": ShoeMessage(2, 11),
    }


def test_a_wished_first_number_of_shoes_counts_shoes_and_not_stages() -> None:
    """Stages of a stepped shoe use up no controller."""
    stepped = {"id": "s0", "sensor": "steps", "stages": 8}
    group = shoes("pair", "great", 1, wanted={"first_number": 20})
    found = assign([{**group, "points": [stepped, *group["points"]]}])
    assert found.shoes == {"pair.s0": ShoeMessage(1, 20), "pair.s1": ShoeMessage(1, 21)}
    assert found.messages == {}


def test_points_that_take_no_part_keep_their_numbers_and_send_nothing() -> None:
    """A tab that is not fitted keeps its number for later; so does a piston that was left out."""
    tabs = controls("tabs", "stops", "great", 3)
    tabs["points"][1]["condition"] = "not-fitted"
    slip = controls("slip", "pistons", "great", 3)
    slip["points"][0]["condition"] = "left-out"
    found = assign([tabs, slip])
    assert numbers(found, "tabs") == [(1, 3), (1, 14)]
    assert numbers(found, "slip") == [(1, 1), (1, 2)]


def test_points_on_one_line_send_one_message() -> None:
    """A stud on a piston's line has no message of its own and uses up no number; a wish for it is said to be unused."""
    studs = controls("studs", "toe-studs", "great", 2)
    studs["points"][0]["message"] = {"note": 99}
    found = assign([controls("slip", "pistons", "great", 1), studs], same_lines=[{"points": ["slip.c1", "studs.c1"]}])
    assert numbers(found, "slip") + numbers(found, "studs") == [(1, 0), (1, 1)]
    assert said(found) == [(NoteCode.WISH_UNUSED, "studs.c1", None)]


@pytest.mark.parametrize(
    ("group", "subject", "value"),
    [
        (keys("great", wanted={"message": "program"}), "great", None),
        (keys("great", wanted={"first_number": 4}), "great", 4),
        (shoes("pair", "great", 1, wanted={"message": "note"}), "pair", None),
        (roller("crescendo", "great", message={"note": 5}), "crescendo", 5),
    ],
)
def test_wishes_that_mean_nothing_are_said_to_be_unused(group: dict[str, Any], subject: str, value: int | None) -> None:
    """Keys send notes and shoes send controllers; another wish is named, not silently dropped."""
    assert said(assign([group])) == [(NoteCode.WISH_UNUSED, subject, value)]


def test_an_impossible_note_of_a_point_is_named() -> None:
    """A point's own note may be any number in the file, but only 0 to 127 can be sent."""
    slip = controls("slip", "pistons", "great", 1)
    slip["points"][0]["message"] = {"note": 200}
    found = assign([slip])
    assert (found.messages, said(found)) == ({}, [(NoteCode.OUT_OF_RANGE, "slip.c1", 200)])


def test_messages_stand_in_the_order_of_the_points() -> None:
    """Results are ordered like the points, whatever was given out first."""
    job = make_job([controls("slip", "pistons", "great", 3), controls("tabs", "stops", "great", 3), keys("great")])
    points = list_points(job)
    assert list(assign_messages(job, points).messages) == [point.id for point in points]


@settings(max_examples=120, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(job=jobs())
def test_no_default_clashes_with_another(job: Job) -> None:
    """Where the job names no number and no channel, no two points send the same, and every point sends or is named."""
    points = list_points(job)
    found = assign_messages(job, points)
    assert find_clashes(found.messages, found.shoes) == ()
    named = {note.subject for note in found.notes if not note.informs_only}
    for point in points:
        silent = point.kind is PointKind.STAGE or point.same_line_as is not None or not point.takes_part
        sends = point.id in found.messages or point.id in found.shoes
        assert sends != silent or (not silent and named & {point.id, point.group, point.division})
    used = {message.on[0] & 0x0F for message in found.messages.values()}
    assert 9 not in used


WISHES = st.fixed_dictionaries(
    {},
    optional={"channel": st.integers(1, 16)},
).flatmap(
    lambda channel: st.one_of(
        st.just(channel),
        st.integers(-256, 511).map(lambda note: {**channel, "note": note}),
        st.integers(0, 127).map(lambda number: {**channel, "controller": number}),
        st.integers(0, 127).map(lambda number: {**channel, "program": number}),
    )
)


@settings(max_examples=100, deadline=None)
@given(
    tabs=st.lists(WISHES, min_size=1, max_size=8),
    pedals=st.lists(WISHES, min_size=1, max_size=2),
    first=st.one_of(st.none(), st.integers(0, 127)),
    skip=st.sets(st.integers(1, 16)),
)
def test_wishes_are_sent_as_they_stand_or_named(
    tabs: list[dict[str, Any]], pedals: list[dict[str, Any]], first: int | None, skip: set[int]
) -> None:
    """Whatever is wished nothing is raised: a wish that can be sent is sent, and any other has its note."""
    rail = controls("tabs", "stops", "great", len(tabs), wanted={} if first is None else {"first_number": first})
    pair = shoes("pair", "great", len(pedals))
    for point, wish in zip(rail["points"] + pair["points"], tabs + pedals, strict=True):
        point["message"] = wish
    found = assign([rail, pair, keys("great")], wanted={"skip_channels": sorted(skip)})
    named = {note.subject for note in found.notes}
    for point in rail["points"]:
        name, wish = f"tabs.{point['id']}", point["message"]
        assert name in found.messages or named & {name, "great"}
        if name in found.messages and "channel" in wish:
            assert found.messages[name].on[0] & 0x0F == wish["channel"] - 1
        for kind, status in (("note", 0x90), ("controller", 0xB0), ("program", 0xC0)):
            if name in found.messages and kind in wish:
                assert (found.messages[name].on[0] & 0xF0, found.messages[name].on[1]) == (status, wish[kind])
    for point in pair["points"]:
        assert f"pair.{point['id']}" in found.shoes or named & {f"pair.{point['id']}", "great"}
