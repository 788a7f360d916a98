"""The live engine: what each message means, what is counted, and that nothing is counted twice or not at all."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from retrofit.proving.engine import Engine
from retrofit.proving.expected import expected_of
from retrofit.proving.strays import STRAYS_KEPT
from retrofit.proving.tally import ContactTally
from retrofit.proving.windows import KEY_UP_US
from tests.proving.plans import small_plan
from tests.proving.streams import channel_messages

EXPECTED = expected_of(small_plan())
MS = 1000


def on(point: str) -> bytes:
    """The message that a contact of the plan sends when it goes on."""
    return next(p.message.on for p in small_plan().points if p.point.id == point and p.message is not None)


def off(point: str) -> bytes:
    """The message that a contact of the plan sends when it goes off."""
    return next(p.message.off for p in small_plan().points if p.point.id == point and p.message is not None)


def index(point: str) -> int:
    """The number of a contact among those that are expected."""
    return next(i for i, one in enumerate(EXPECTED.contacts) if one.id == point)


def heard(*messages: tuple[int, bytes]) -> Engine:
    """An engine that has heard messages at times in milliseconds."""
    engine = Engine(EXPECTED)
    engine.feed((time_ms * MS, message) for time_ms, message in messages)
    return engine


@pytest.mark.parametrize("point", ["great.36", "swell.48", "stops.flute", "stops.reed"])
def test_a_contact_goes_on_and_off_by_its_own_messages(point: str) -> None:
    """A key and a stop are on between their two messages, and that is one stroke."""
    engine = heard((0, on(point)))
    assert engine.on_now() == [index(point)]
    engine.feed([(100 * MS, off(point))])
    tally = engine.contacts[index(point)]
    assert engine.on_now() == []
    assert (tally.strokes, tally.ons, tally.offs, tally.longest_on_us) == (1, 1, 1, 100 * MS)


@pytest.mark.parametrize("message", ["91 24 00", "81 24 00", "81 24 40"])
def test_a_note_ends_by_velocity_zero_or_by_note_off(message: str) -> None:
    """Both forms of a note's end are understood, whichever the board uses (MIDI 1.0)."""
    engine = heard((0, on("great.36")), (50, bytes.fromhex(message)))
    assert engine.on_now() == []
    assert engine.contact_messages == 2


def test_a_piston_that_sends_programs_has_a_stroke_for_each_message() -> None:
    """A program change has no counterpart: each is a stroke, and the contact is not left on."""
    engine = heard((0, on("pistons.one")), (500, on("pistons.one")), (900, on("pistons.two")))
    assert [engine.contacts[index(f"pistons.{name}")].strokes for name in ("one", "two")] == [2, 1]
    assert engine.on_now() == []


def test_an_on_right_after_the_off_is_a_retrigger_of_the_same_stroke() -> None:
    """A contact that comes back sooner than any finger is one stroke with a bounce, whose length is told."""
    engine = heard((0, on("great.36")), (8, off("great.36")), (14, on("great.36")), (200, off("great.36")))
    tally = engine.contacts[index("great.36")]
    assert (tally.strokes, tally.ons, tally.retriggers, tally.longest_bounce_us) == (1, 2, 1, 6 * MS)


def test_the_quickest_repeat_of_a_finger_is_a_stroke() -> None:
    """A key that was up for the shortest time of quick playing is struck anew."""
    up = KEY_UP_US // MS
    engine = heard((0, on("great.36")), (40, off("great.36")), (40 + up, on("great.36")), (90 + up, off("great.36")))
    tally = engine.contacts[index("great.36")]
    assert (tally.strokes, tally.retriggers) == (2, 0)


def test_what_said_nothing_new_is_counted_apart() -> None:
    """An on of what is on and an off of what is off are no strokes."""
    engine = heard((0, off("great.36")), (9, on("great.36")), (60, on("great.36")))
    tally = engine.contacts[index("great.36")]
    assert (tally.strokes, tally.repeated_ons, tally.repeated_offs) == (1, 1, 1)


def test_a_shoe_keeps_its_ends_its_longest_step_and_its_turns() -> None:
    """Values of a shoe give span, largest jump and changes of direction."""
    engine = heard(*((time, bytes((0xB0, 11, value))) for time, value in enumerate((0, 3, 10, 9, 9, 40))))
    shoe = engine.shoes[0]
    assert (shoe.value, shoe.least, shoe.greatest, shoe.longest_step, shoe.turns) == (40, 0, 40, 31, 2)
    assert engine.shoe_messages == 6


def test_messages_of_no_point_are_named_and_bounded() -> None:
    """Strays are counted by their words; beyond a number of different ones they are counted together."""
    engine = heard((0, bytes.fromhex("99 23 40")), (1, bytes.fromhex("99 23 00")))
    assert engine.strays == {"99 23": 2}
    engine.feed((i, bytes((0xE0 | i // 128, i % 128, 0))) for i in range(400))
    assert len(engine.strays) == STRAYS_KEPT
    assert engine.stray_messages == 402


def test_points_left_out_are_strays_and_dead_ones_are_excused() -> None:
    """Nothing is expected of a point that was left out; of one known as dead the reason is kept."""
    assert all(point.id != "great.39" for point in EXPECTED.contacts)
    assert next(point.excuse for point in EXPECTED.contacts if point.id == "great.38") == "known as dead"
    assert next(point.excuse for point in EXPECTED.contacts if point.id == "great.36") is None


def test_contacts_held_at_power_on_are_taken_from_the_board_s_report() -> None:
    """The board's own message about a held contact is understood."""
    engine = heard((0, bytes.fromhex("F0 7D 01 01 02 F7")), (1, bytes.fromhex("FE")))
    assert engine.held_at_start == [130]
    assert engine.other_messages == 2


WIRE = st.one_of(
    channel_messages(),
    st.sampled_from([make(point) for point in ("great.36", "great.37", "stops.flute") for make in (on, off)]),
    st.sampled_from([b"\xfe", b"\xf8", b"\xf0\x7d\x01\x00\x01\xf7"]),
)


@st.composite
def timed(draw: st.DrawFn) -> list[tuple[int, bytes]]:
    """Messages at rising times, close together and far apart."""
    time, found = 0, []
    for message in draw(st.lists(WIRE, max_size=60)):
        time += draw(st.sampled_from([0, 300, 5_000, 19_999, 20_000, 31_000, 400_000, 11_000_000]))
        found.append((time, message))
    return found


@given(timed())
def test_every_message_is_counted_exactly_once(messages: list[tuple[int, bytes]]) -> None:
    """What came in is the sum of contacts, shoes, strays and others, and of each contact's ons and offs."""
    engine = Engine(EXPECTED)
    engine.feed(messages)
    parts = engine.contact_messages + engine.shoe_messages + engine.stray_messages + engine.other_messages
    assert engine.messages == len(messages) == parts
    assert engine.contact_messages == sum(tally.ons + tally.offs for tally in engine.contacts)


@given(timed(), st.lists(st.integers(0, 60), max_size=5))
def test_how_messages_are_bundled_changes_neither_counts_nor_presses(
    messages: list[tuple[int, bytes]], cuts: list[int]
) -> None:
    """The same messages in other bundles, with presses asked for in between, give the same state."""
    whole, parts = Engine(EXPECTED), Engine(EXPECTED)
    places = sorted({0, len(messages), *(cut for cut in cuts if cut < len(messages))})
    found = []
    for start, end in pairwise(places):
        parts.feed(messages[start:end])
        found += parts.strokes(parts.now_us)
    whole.feed(messages)
    end_us = whole.now_us + 20_000_000
    assert sorted([*found, *parts.strokes(end_us)], key=repr) == sorted(whole.strokes(end_us), key=repr)
    assert _figures(parts) == _figures(whole)


def _figures(engine: Engine) -> list[tuple[object, ...]]:
    return [tuple(getattr(tally, name) for name in ContactTally.__slots__) for tally in engine.contacts]
