"""What speaks together: company of a stroke, contacts under one key, strays in presses, silence by channel."""

from __future__ import annotations

from dataclasses import replace

import pytest

from retrofit.catalogue.load import load_catalogue
from retrofit.plan.build import plan_conversion
from retrofit.proving.engine import Change, Engine
from retrofit.proving.expected import Expected, expected_of
from retrofit.proving.segments import Segmenter
from retrofit.proving.signatures import signatures_of
from retrofit.proving.strays import Strays
from retrofit.proving.tally import ContactTally
from retrofit.survey.load import parse_job
from tests.proving.plans import JOB, small_plan
from tests.proving.playing import MS, Message, heard, key, manuals, run

SMALL = expected_of(small_plan())
FLUTE = next(p.message for p in small_plan().points if p.point.id == "stops.flute" and p.message is not None)


def tally_of(engine: Engine, point: str) -> ContactTally:
    """The counts of a contact."""
    return next(t for p, t in zip(engine.expected.contacts, engine.contacts, strict=True) if p.id == point)


def test_whatever_speaks_in_the_first_instant_is_company_of_both() -> None:
    """Two keys and a stray within an instant know of each other, once a stroke; a later key is none of them."""
    instant = [*key(1, 60, 0, 90 * MS), *key(1, 72, 900, 90 * MS), *key(9, 60, 1800, 90 * MS)]
    engine = heard([*instant, *key(1, 48, 30 * MS, 90 * MS)])
    assert tally_of(engine, "m1.60").companions == {"m1.72": 1, "98 3C": 1}
    assert tally_of(engine, "m1.72").companions == {"m1.60": 1, "98 3C": 1}
    assert [tally_of(engine, f"m1.{note}").accompanied for note in (60, 72, 48)] == [1, 1, 0]


def test_a_stray_that_bounces_within_the_instant_is_counted_once() -> None:
    """Company is counted by strokes, and a stray has none: its second on so soon is its bounce."""
    engine = heard([*key(1, 60, 0, 90 * MS), *key(9, 60, 500, 200), *key(9, 60, 1000, 90 * MS)])
    assert tally_of(engine, "m1.60").companions == {"98 3C": 1}


def two_contacts() -> Expected:
    """A manual with two contacts under each key, on channels 2 and 4."""
    text = JOB.replace(
        'id = "great"\ndivision',
        'contacts = [{ id = "first" }, { id = "second", channel = 4 }]\nid = "great"\ndivision',
    )
    return expected_of(plan_conversion(parse_job(text, "two.toml"), load_catalogue()))


def test_contacts_under_one_key_are_no_company_and_no_coupler() -> None:
    """A finger closes both of them in every stroke, and ten fingers twenty of them; nobody is accused."""
    expected = two_contacts()
    assert {point.id for point in expected.contacts} >= {"great.36", "great.36.second"}
    notes = [36, 37, *range(40, 49)]
    slow = [m for n in range(44) for c in (2, 4) for m in key(c, notes[n % 11], n * 1000 * MS + c * 400, 200 * MS)]
    chords = [
        m
        for n in range(50, 55)
        for k, note in enumerate(notes[:10])
        for c in (2, 4)
        for m in key(c, note, n * 1000 * MS + k * 1920 + c * 480, 200 * MS)
    ]
    engine = heard(slow + chords, expected)
    assert tally_of(engine, "great.36").strokes == 9
    assert "great.36.second" not in tally_of(engine, "great.36").companions
    assert signatures_of(engine, engine.now_us) == []


def heard_in_presses(messages: list[Message]) -> list[list[tuple[str, int]]]:
    """What each press of the small console holds: names and edges."""
    return [[(one.point, one.edges) for one in s.heard] for s in heard(messages, SMALL).strokes(60_000 * MS)]


@pytest.mark.parametrize("end", ["99 3C 00", "89 3C 40"])
def test_a_note_of_no_point_belongs_to_presses_by_its_own_words(end: str) -> None:
    """Whoever looks for a wrong channel hears when it spoke; both forms of a note's end are understood (MIDI 1.0)."""
    assert heard_in_presses([(0, bytes.fromhex("99 3C 40")), (90 * MS, bytes.fromhex(end))]) == [[("99 3C", 2)]]


def test_a_stop_on_a_wrong_channel_belongs_to_presses_and_a_shoe_does_not() -> None:
    """A controller is a contact's when it says just what the plan's stops say; programs are pistons'."""
    wrong = [bytes((m[0] | 8, *m[1:])) for m in (FLUTE.on, FLUTE.off)]
    assert heard_in_presses([(0, wrong[0]), (900 * MS, wrong[1])]) == [[(wrong[0][:2].hex(" ").upper(), 2)]]
    assert heard_in_presses([(n * 100 * MS, bytes((0xB8, 20, 50 + n))) for n in range(9)]) == []
    assert heard_in_presses([(0, b"\xc8\x05")]) == [[("C8 05", 2)]]


@pytest.mark.parametrize(("controller", "on"), [(120, 0), (121, 1), (123, 0), (124, 0), (127, 0)])
def test_channel_mode_messages_end_the_notes_of_their_channel(controller: int, on: int) -> None:
    """All sound off, all notes off and the four modes end notes, and nothing else does (MIDI 1.0, Table III)."""
    engine = heard([(0, b"\x90\x3c\x40"), (1, b"\x91\x3c\x40"), (2, bytes((0xB0, controller, 0)))])
    assert len(engine.on_now()) == 1 + on
    assert (engine.others, engine.stray_messages) == ({0xB0: 1}, 0)
    assert engine.feed([(3, bytes((0xB8, controller, 0)))]) == []
    assert engine.stray_messages == 1


def test_what_was_silenced_is_told_as_a_change() -> None:
    """Whoever follows the changes knows that the key is off; no message of its own is counted."""
    engine = heard([(0, b"\x90\x3c\x40")])
    index = manuals().notes[b"\x90\x3c"]
    assert engine.feed([(7, b"\xb0\x7b\x00")]) == [Change(7, index, on=False, began=False)]
    assert (engine.contact_messages, engine.contacts[index].offs) == (1, 0)


def test_keys_silenced_by_the_board_can_be_played_alone_again() -> None:
    """After a key was silenced, the next one counts as played alone, and the late off of the first is no stroke's."""
    engine = heard(
        [(0, b"\x90\x3c\x40"), (9, b"\xb0\x7b\x00"), (99 * MS, b"\x90\x3c\x00"), *run(1, 1, start_us=999 * MS)]
    )
    tally = tally_of(engine, "m1.60")
    assert (tally.strokes, tally.repeated_offs, list(tally.on_times)) == (2, 1, [300 * MS])
    assert len(tally_of(engine, "m1.36").on_times) == 1


def test_points_that_send_the_same_are_one_contact_and_a_living_one_speaks() -> None:
    """Of two stops with one message the one from which something is expected stands for both."""
    text = JOB.replace(
        '{ id = "reed", name = "Reed" }]',
        '{ id = "reed", name = "Reed" }, { id = "twin", message = { controller = 20 } }]',
    ).replace('id = "flute", name = "Flute"', 'id = "flute", condition = "dead", name = "Flute"')
    expected = expected_of(plan_conversion(parse_job(text, "twin.toml"), load_catalogue()))
    (speaker,) = [point for point in expected.contacts if point.shared_with]
    assert (speaker.id, speaker.shared_with, speaker.excuse) == ("stops.twin", ("stops.flute",), None)


def test_what_means_on_and_off_means_nothing_of_a_stray() -> None:
    """Where one stop's on and another's off have the same value, a stray of that value is neither."""
    same = replace(
        SMALL, switches={b"\xb0\x14\x7f": (0, True), b"\xb0\x15\x7f": (1, False), b"\xb0\x14\x00": (0, False)}
    )
    strays = Strays(same)
    assert [strays.state(message) for message in (b"\xb8\x14\x7f", b"\xb8\x14\x00", b"\xe8\x14\x00")] == [
        None,
        False,
        None,
    ]


def test_a_contact_comes_to_rest_after_its_own_window() -> None:
    """An on 30 ms after the off is a press of its own for a quick contact, and a bounce for one that bounces longer."""
    for rest_us, edges in ((20 * MS, [2, 2]), (40 * MS, [4])):
        segmenter = Segmenter()
        for time_ms, on in ((0, True), (50, False), (80, True), (150, False)):
            segmenter.switch("key", on, time_ms * MS, rest_us)
        assert [stroke.heard[0].edges for stroke in segmenter.finished(1000 * MS)] == edges
