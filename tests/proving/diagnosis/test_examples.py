"""Worked examples of commissioning: what a fault sounds like, and what is said of it.  Common practice, no source."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import cache

import pytest

from retrofit.proving.diagnosis import search
from retrofit.proving.diagnosis.causes import Cause, Kind
from retrofit.proving.diagnosis.diagnose import Diagnosis, diagnose
from retrofit.proving.diagnosis.rig import Pin
from retrofit.proving.diagnosis.told import told
from retrofit.proving.evidence import Chord, GroupEvidence, HeardPoint, Stroke
from tests.proving.diagnosis.consoles import Console, console, keys

SECOND_US = 1_000_000


@cache
def chain() -> Console:
    """Return 61 keys from note 36 on a chain, eight to a register."""
    return console("chain", keys("great", 36, 61, "chain"))


@cache
def matrix() -> Console:
    """Return 61 keys from note 36 on a matrix of eight rows and eight columns with a diode each."""
    return console("matrix", keys("great", 36, 61, "matrix", "silicon"))


def run(played: Iterable[Iterable[int]]) -> tuple[Stroke, ...]:
    """Return a run of presses, each given by the places in the compass that it lets hear."""
    heard = (tuple(f"great.{36 + n}" for n in press if 0 <= n < 61) for press in played)
    return tuple(
        Stroke(tuple(HeardPoint(name, i * SECOND_US, i * SECOND_US + 300_000) for name in names))
        for i, names in enumerate(heard)
        if names
    )


def asked(n: int, *heard: int) -> Stroke:
    """Return an answer to a press asked for by name."""
    (stroke,) = run([heard]) or (Stroke(()),)
    return stroke._replace(asked=f"great.{36 + n}")


def diagnosed(found: Console, press: Callable[[int], Iterable[int]], **more: object) -> Diagnosis:
    """Return the diagnosis of a run in which key n lets `press(n)` be heard."""
    evidence = GroupEvidence("great", run=run(press(n) for n in range(61)), **more)  # type: ignore[arg-type]  # by name
    return diagnose(found.rig, (evidence,))


def kinds(found: Diagnosis) -> list[Kind]:
    """Return the kinds of the causes."""
    return [cause.kind for cause in found.causes]


def test_a_sound_run_accuses_nobody() -> None:
    """Every key once, in order: nothing is wrong, and nothing needs to be asked."""
    found = diagnosed(chain(), lambda n: [n])
    assert (found.causes, found.ask, found.explained, found.observed) == ((), (), 61, 61)


def test_what_is_not_heard_is_asked_for_and_not_accused() -> None:
    """A key that was left out is asked for; silent again and again when asked, it is dead."""
    once = diagnosed(chain(), lambda n: [n] if n != 20 else [])
    assert (once.causes, once.ask, once.unheard) == ((), ("great.56",), ("great.56",))
    twice = diagnosed(chain(), lambda n: [n] if n != 20 else [], asked=(asked(20), asked(20)))
    assert twice.causes == (Cause(Kind.DEAD, ("great.56",)),)


def test_a_row_left_out_is_not_accused_before_it_is_asked_for() -> None:
    """Eight keys in a row not heard may have been left out; asked for in vain they are a dead row."""
    silent = set(range(16, 24))
    assert diagnosed(matrix(), lambda n: [] if n in silent else [n]).causes == ()
    found = diagnosed(matrix(), lambda n: [] if n in silent else [n], asked=tuple(map(asked, sorted(silent)[:4])))
    assert found.causes == (Cause(Kind.LINE_DEAD, (Pin("J2", 4),)),)


def test_every_eighth_key_dead_is_a_column() -> None:
    """Keys with the same remainder by eight are dead: one wire of the column."""
    found = diagnosed(matrix(), lambda n: [] if n % 8 == 3 else [n], asked=tuple(asked(n) for n in (3, 11, 19, 27)))
    assert found.causes == (Cause(Kind.LINE_DEAD, (Pin("J1", 5),)),)


def test_a_turned_plug_runs_backwards_and_may_be_corrected_in_the_table() -> None:
    """Within one register the order runs backwards: the plug is turned, and the table can be corrected instead."""
    found = diagnosed(chain(), lambda n: [8 * (n // 8) + 7 - n % 8] if n // 8 == 2 else [n])
    assert found.causes == (Cause(Kind.TURNED, ("J3",)),)
    assert found.correct is not None
    assert found.correct["great.52"] == "great.59"
    assert (found.explained, found.observed) == (61, 61)
    first, *_, last = told(chain().rig, found)
    assert first.startswith("connector J3 (chain register 2) is plugged in turned round; look first: ")
    assert last.endswith("8 addresses change places: retrofit learn FILE great")


def test_rows_and_columns_exchanged_keep_the_diagonal() -> None:
    """A matrix without diodes whose plugs are exchanged reads n = 8r + c as 8c + r."""
    bare = console("bare", keys("great", 36, 61, "matrix", "none"))
    found = diagnosed(bare, lambda n: [8 * (n % 8) + n // 8])
    assert found.causes == (Cause(Kind.EXCHANGED, ("J1", "J2")),)


def test_two_rows_crossed_exchange_two_blocks() -> None:
    """Two blocks of eight keys change places: two row wires are crossed."""
    swap = {2: 5, 5: 2}
    found = diagnosed(matrix(), lambda n: [8 * swap.get(n // 8, n // 8) + n % 8])
    assert found.causes == (Cause(Kind.CROSSED, (Pin("J2", 4), Pin("J2", 7))),)


def test_columns_that_touch_give_a_pair_in_every_row() -> None:
    """Either key of two neighbouring columns lets both be heard, in every row: a short, never to be corrected."""
    found = diagnosed(matrix(), lambda n: [n - n % 8 + c for c in ((4, 5) if n % 8 in (4, 5) else (n % 8,))])
    assert found.causes == (Cause(Kind.JOINED, (Pin("J1", 6), Pin("J1", 7))),)
    assert found.correct is None


def test_a_swapped_pair_is_two_crossed_wires() -> None:
    """Key n gives n + 1 and n + 1 gives n, only there."""
    swap = {30: 31, 31: 30}
    answers = (asked(30, 31), asked(31, 30))
    found = diagnosed(chain(), lambda n: [swap.get(n, n)], asked=answers)
    assert found.causes == (Cause(Kind.CROSSED, (Pin("J4", 8), Pin("J4", 9))),)


def test_an_octave_too_high_is_a_setting() -> None:
    """Every key sounds twelve semitones higher, the top ones outside the compass."""
    strays = tuple(Stroke((HeardPoint(f"91 {97 + n:02X}", n, n + 1),)) for n in range(0))
    played = run([n + 12] for n in range(49))
    top = tuple(Stroke((HeardPoint(f"91 {36 + n + 12:02X}", n * SECOND_US, n * SECOND_US + 1),)) for n in range(49, 61))
    found = diagnose(chain().rig, (GroupEvidence("great", run=(*played, *top, *strays)),))
    assert found.causes == (Cause(Kind.SHIFTED, ("great", 12)),)


def test_a_stuck_contact_is_on_at_idle() -> None:
    """One contact on at idle, and never heard: stuck."""
    found = diagnosed(chain(), lambda n: [n] if n != 9 else [], idle=frozenset({"great.45"}))
    assert found.causes == (Cause(Kind.HELD, ("great.45",)),)


def test_all_on_at_idle_is_the_polarity() -> None:
    """Everything on at idle, and every press heard: the polarity is inverted."""
    found = diagnosed(chain(), lambda n: [n], idle=frozenset(f"great.{36 + n}" for n in range(61)))
    assert found.causes == (Cause(Kind.INVERTED, ("great",)),)


def test_three_keys_locate_a_shorted_diode() -> None:
    """X, a key in its column and one in its row are held: the ghost at the fourth corner shows that X is shorted."""
    chord = Chord(
        frozenset({"great.45", "great.53", "great.46"}), frozenset({"great.45", "great.53", "great.46", "great.54"})
    )
    found = diagnosed(matrix(), lambda n: [n], chords=(chord, chord))
    assert found.causes == (Cause(Kind.DIODE_SHORTED, ("great.45",)),)


def test_the_runner_up_comes_with_the_press_that_tells_them_apart() -> None:
    """While two suppositions are left, a press on which they differ is named, and asked for."""
    found = diagnosed(chain(), lambda n: [n] if n not in (30, 31) else [61 - n])
    assert found.telling is None or found.telling.if_best != found.telling.if_runner_up
    assert set(found.ask) & {"great.66", "great.67"}


def test_a_group_on_a_wrong_channel_is_named_by_messages_of_no_point() -> None:
    """Nothing but messages on a channel that no point of the plan uses: the group sends on that channel."""
    strokes = tuple(
        Stroke((HeardPoint(f"94 {36 + n:02X}", n * SECOND_US, n * SECOND_US + 300_000),)) for n in range(61)
    )
    found = diagnose(chain().rig, (GroupEvidence("great", run=strokes),))
    assert found.causes == (Cause(Kind.CHANNEL, ("great", 5)),)
    assert found.settled


def test_what_nothing_explains_is_not_settled() -> None:
    """Every key lets another be heard without any order: whatever comes nearest is told as not settled."""
    answers = tuple(asked(n, (n * 23 + 11) % 61) for n in range(61))
    found = diagnosed(chain(), lambda n: [(n * 23 + 11) % 61], asked=answers)
    assert not found.settled
    assert any(line.startswith("this is not settled") for line in told(chain().rig, found))


def test_a_search_ends_at_its_limit_and_says_that_nothing_is_settled(monkeypatch: pytest.MonkeyPatch) -> None:
    """With no supposition left to be tried even a turned plug is not named, and the diagnosis is not settled."""
    answers = tuple(asked(n, 39 - n) for n in range(16, 24))
    found = diagnosed(chain(), lambda n: [39 - n] if n // 8 == 2 else [n], asked=answers)
    assert (kinds(found), found.settled) == ([Kind.TURNED], True)
    monkeypatch.setattr(search, "MOST_TRIED", 0)
    found = diagnosed(chain(), lambda n: [39 - n] if n // 8 == 2 else [n], asked=answers)
    assert (found.causes, found.settled) == ((), False)


def test_a_cause_that_only_a_run_shows_is_asked_for_by_name_once() -> None:
    """A run tells an order and not which keys were pressed: one press by name confirms a turned plug."""
    found = diagnosed(chain(), lambda n: [39 - n] if n // 8 == 2 else [n])
    assert set(found.ask) & {f"great.{36 + n}" for n in range(16, 24)}
    confirmed = diagnosed(chain(), lambda n: [39 - n] if n // 8 == 2 else [n], asked=(asked(20, 19),))
    assert confirmed.ask == ()


def test_notes_beyond_the_last_come_round() -> None:
    """A group set an octave too high sends what does not fit into seven bits from 0 on (MIDI 1.0, data bytes)."""
    high = console("high", keys("great", 72, 56, "chain"))
    sent = [(72 + n + 12) & 0x7F for n in range(56)]
    names = [f"great.{note}" if 72 <= note < 128 else f"91 {note:02X}" for note in sent]
    strokes = tuple(Stroke((HeardPoint(name, n * SECOND_US, n * SECOND_US + 1),)) for n, name in enumerate(names))
    found = diagnose(high.rig, (GroupEvidence("great", run=strokes),))
    assert found.causes == (Cause(Kind.SHIFTED, ("great", 12)),)
    assert found.explained == found.observed == 56


def test_a_diagnosis_of_a_sound_console_is_settled() -> None:
    """Nothing is left unexplained of a sound run, and nothing is said of it."""
    found = diagnosed(chain(), lambda n: [n])
    assert found.settled
    assert told(chain().rig, found) == ()


def test_a_group_that_comes_and_goes_is_a_loose_joint() -> None:
    """Most contacts of a group break many times while held, in no rhythm: the joint that they share is loose."""
    edges = [8 + 2 * (n * 5 % 7) for n in range(61)]
    strokes = tuple(
        Stroke((HeardPoint(f"great.{36 + n}", n * SECOND_US, n * SECOND_US + 400_000, edges[n]),)) for n in range(61)
    )
    assert kinds(diagnose(chain().rig, (GroupEvidence("great", run=strokes),))) == [Kind.FLICKER]


@pytest.mark.parametrize("hz", [100.0, 50.0])
def test_edges_at_the_rhythm_of_the_mains_are_hum(hz: float) -> None:
    """Contacts that break at 50 or 100 Hz while held are keyed by a supply with gaps."""
    strokes = tuple(
        Stroke((HeardPoint(f"great.{36 + n}", n * SECOND_US, n * SECOND_US + 500_000, round(hz)),)) for n in range(61)
    )
    assert kinds(diagnose(chain().rig, (GroupEvidence("great", run=strokes),))) == [Kind.HUM]


def test_a_worn_contact_is_not_chatter_and_a_dirty_one_is_asked_for_again() -> None:
    """Four edges are wear; many are chatter once they were heard twice."""
    worn = run([n] for n in range(61))
    dirty = tuple(
        Stroke((stroke.heard[0]._replace(edges=4 if n % 2 else 2),))
        if n != 7
        else Stroke((stroke.heard[0]._replace(edges=11),))
        for n, stroke in enumerate(worn)
    )
    first = diagnose(chain().rig, (GroupEvidence("great", run=dirty),))
    assert (first.causes, first.ask) == ((), ("great.43",))
    again = dirty[7]._replace(asked="great.43")
    second = diagnose(chain().rig, (GroupEvidence("great", run=dirty, asked=(again,)),))
    assert second.causes == (Cause(Kind.CHATTER, ("great.43",)),)
