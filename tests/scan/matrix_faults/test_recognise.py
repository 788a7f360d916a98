"""A diode board recognised from readings: boards of every shape are named whole, bad readings accused."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from retrofit.scan.matrix_faults.key_order import KeyOrder
from retrofit.scan.matrix_faults.readings import ContradictionKind, DiodeReading
from retrofit.scan.matrix_faults.recognise import BoardFound, fewest_presses, recognise
from retrofit.scan.matrix_faults.reuse import direction_fits, reuse


def reading(index: int, run: int, *, begin: int = 0, entering_changes: bool = True, first: int = 36) -> DiodeReading:
    """Return what a meter shows of the key counted from 0 on a regular board."""
    block, place = divmod(index + begin, run)
    changes, stays = f"a{place}", f"b{block}"
    entering, leaving = (changes, stays) if entering_changes else (stays, changes)
    return DiodeReading(first + index, entering, leaving)


def surveyed(keys: int, run: int, begin: int, entering_changes: bool) -> tuple[BoardFound, int]:
    """Press what is asked for until nothing more is, and return what was found and the presses that it took."""
    readings: list[DiodeReading] = []
    while True:
        found = recognise(range(36, 36 + keys), readings)
        if found.next_press is None:
            return found, len(readings)
        index = found.next_press.key - 36
        readings.append(reading(index, run, begin=begin, entering_changes=entering_changes))


@given(
    keys=st.integers(5, 61),
    run=st.integers(2, 16),
    begin=st.integers(0, 15),
    entering_changes=st.booleans(),
)
@settings(max_examples=25, deadline=None)
def test_any_regular_board_is_named_whole(keys: int, run: int, begin: int, entering_changes: bool) -> None:
    """Following the next press names every crossing rightly, without a contradiction."""
    found, _ = surveyed(keys, run, begin % run, entering_changes)
    truth = [reading(index, run, begin=begin % run, entering_changes=entering_changes) for index in range(keys)]
    assert dict(found.crossings) == {one.key: (one.to_pin, one.from_pin) for one in truth}
    assert found.complete
    assert found.contradictions == ()


@pytest.mark.parametrize(
    ("keys", "run", "begin", "entering_changes"),
    [(61, 8, 0, True), (61, 8, 3, False), (61, 12, 0, True), (72, 6, 0, True), (25, 5, 0, False), (61, 11, 0, False)],
)
def test_no_more_presses_than_a_plain_walk(keys: int, run: int, begin: int, entering_changes: bool) -> None:
    """The presses asked for are at most rows + columns - 1."""
    found, presses = surveyed(keys, run, begin, entering_changes)
    assert presses <= fewest_presses(len(found.rows), len(found.columns))


def test_the_fewest_presses_of_a_walk() -> None:
    """8 x 8 takes 15 presses and 12 x 6 takes 17."""
    assert (fewest_presses(8, 8), fewest_presses(12, 6)) == (15, 17)


def test_a_walk_along_one_run_and_one_key_of_each_other_is_enough() -> None:
    """The plain walk of rows + columns - 1 presses, none of them asked for, names a whole 8 x 8 board."""
    walk = [*range(9), *range(16, 61, 8)]
    found = recognise(range(36, 97), [reading(index, 8) for index in walk])
    assert len(walk) == 15
    assert found.complete
    assert (len(found.rows), len(found.columns)) == (8, 8)


def test_readings_that_draw_are_all_accused() -> None:
    """Two keys that say the opposite of each other, with nobody to decide, are both put aside."""
    found = recognise(range(36, 40), [DiodeReading(36, "a", "b"), DiodeReading(37, "b", "a")])
    assert [one.keys for one in found.contradictions] == [(36,), (37,)]
    assert found.crossings == {}


@pytest.mark.parametrize(
    ("extra", "kind", "keys"),
    [
        ([DiodeReading(40, "b0", "a4")], ContradictionKind.BOTH_WAYS, (40,)),
        ([DiodeReading(40, "a4", "b1")], ContradictionKind.SEVERAL_PAIRS, (40,)),
        ([DiodeReading(50, "a0", "b0")], ContradictionKind.SHARED_PAIR, (36, 50)),
        ([DiodeReading(53, "b2", "a1")], ContradictionKind.TURNED, (53,)),
        ([DiodeReading(53, "a2", "a1")], ContradictionKind.PIN_ON_BOTH_SIDES, (53,)),
        ([DiodeReading(53, "a5", "b2")], ContradictionKind.OUT_OF_ORDER, (53,)),
    ],
)
def test_bad_readings_are_accused(extra: list[DiodeReading], kind: ContradictionKind, keys: tuple[int, ...]) -> None:
    """Each kind of contradiction names its keys, what was found and what to look for, and the rest is kept."""
    walk = [reading(index, 8) for index in (*range(9), 9, 16, 18, 24, 25, 32, 33)]
    found = recognise(range(36, 97), [*walk, *extra])
    assert [(one.kind, one.keys) for one in found.contradictions] == [(kind, keys)]
    assert all(one.found and one.remedy for one in found.contradictions)
    if kind is not ContradictionKind.OUT_OF_ORDER:
        assert not set(keys) & {key for key in found.crossings if not found.complete}


def test_a_board_without_order_is_read_key_by_key() -> None:
    """Where no regular order fits every key is asked for in turn, and what was read stands."""
    pins = [("a", "x"), ("b", "x"), ("a", "y"), ("c", "x"), ("c", "y"), ("b", "y")]
    readings = [DiodeReading(36 + index, *pair) for index, pair in enumerate(pins)]
    found = recognise(range(36, 44), readings)
    assert not found.regular
    assert found.next_press is not None
    assert found.next_press.key == 42
    assert len(found.crossings) == 6
    assert found.order is None


def test_a_key_that_the_board_has_not() -> None:
    """A reading of a strange key is refused with the keys that there are."""
    with pytest.raises(ValueError, match="key 97 is not on this board; its keys are 36 to 96"):
        recognise(range(36, 97), [DiodeReading(97, "a", "b")])


def test_one_pin_is_never_two_wires() -> None:
    """Two keys that share the pin where current leaves lie in one run, not in two runs of one key each."""
    found = recognise([36, 37], [DiodeReading(36, "a", "x"), DiodeReading(37, "b", "x")])
    assert found.order == KeyOrder(entering_changes=True, run=2, begin=0)


def test_nothing_read_asks_for_the_lowest_key() -> None:
    """The first press is the lowest key."""
    found = recognise(range(36, 97), [])
    assert found.next_press is not None
    assert found.next_press.key == 36
    assert (found.rows, found.columns) == ((), ())


def test_reuse_of_a_board_as_it_is() -> None:
    """An 8 x 8 board whose current leaves by its rows goes to our rows and columns in order."""
    found = recognise(range(36, 97), [reading(index, 8) for index in range(61)])
    plan = reuse(found)
    assert plan.reasons == ()
    assert plan.row_pins == tuple(f"b{row}" for row in range(8))
    assert plan.column_pins == tuple(f"a{column}" for column in range(8))
    assert plan.contact_order == (*range(36, 97), -1, -1, -1)
    assert direction_fits(found, frozenset(plan.row_pins))


def test_reuse_of_a_board_the_other_way_round() -> None:
    """Where the pin by which current leaves changes with every key, rows and columns change places."""
    found = recognise(range(36, 61), [reading(index, 5, entering_changes=False) for index in range(25)])
    plan = reuse(found)
    assert plan.row_pins == tuple(f"a{row}" for row in range(5))
    assert plan.contact_order[:6] == (36, 41, 46, 51, 56, 37)
    assert not direction_fits(found, frozenset(plan.column_pins))


def test_reuse_says_why_not() -> None:
    """Twelve columns, a turned diode and keys still unread are each a reason."""
    wide = recognise(range(36, 108), [reading(index, 12) for index in range(72)])
    assert [reason.split(":")[0] for reason in reuse(wide).reasons] == ["12 columns"]
    turned = recognise(range(36, 97), [*(reading(index, 8) for index in range(5)), DiodeReading(41, "b0", "a2")])
    reasons = reuse(turned).reasons
    assert "turn the diode" in reasons[0]
    assert "keys have no crossing yet" in reasons[1]
