"""Every claim about ghosts against a solver of node voltages: each fault in turn, in each chord, at real levels."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from functools import cache

import pytest

from retrofit.scan.matrix_faults.chord_plan import ChordPlan, chord_plan, chords_as_rings, chords_for_hands
from retrofit.scan.matrix_faults.chords import Chord
from retrofit.scan.matrix_faults.crossings import KeyMatrix, regular_matrix
from retrofit.scan.matrix_faults.ghosts import crossings_of, ghost_masks
from retrofit.scan.matrix_faults.network import GHOST_DROPS, DiodeFault
from tests.scan.matrix_faults.bench import Place
from tests.scan.matrix_faults.cases import CONSOLES, EIGHT_CHORDS, EIGHT_RINGS, MATRICES, bench


@cache
def plan_of(name: str, way: str) -> ChordPlan:
    """Return the chords of a matrix, worked out once."""
    return (chords_for_hands if way == "hands" else chords_as_rings)(MATRICES[name])


def place(matrix: KeyMatrix, key: int) -> Place:
    """Return where a key lies."""
    return matrix.keys[key].row, matrix.keys[key].column


def held(matrix: KeyMatrix, chord: Chord) -> list[Place]:
    """Return where the keys of a chord lie."""
    return [place(matrix, key) for key in chord.keys]


def measured(
    matrix: KeyMatrix, chords: Sequence[Chord], fault: DiodeFault, console: str
) -> dict[tuple[int, int], frozenset[Place]]:
    """Return what the solver reads at heard places, by chord (from 0) and key, with that key's diode faulty."""
    on, threshold, _ = bench(matrix, console)
    cases = [(number, key) for number, chord in enumerate(chords) for key in chord.keys]
    networks = [(held(matrix, chords[number]), place(matrix, key), fault.value) for number, key in cases]
    heard = {(crossing.row, crossing.column) for crossing in matrix.heard}
    return dict(zip(cases, (low & heard for low in on.low(networks, threshold)), strict=True))


def claimed(matrix: KeyMatrix, chord: Chord, key: int, fault: DiodeFault, most_drops: int) -> frozenset[Place]:
    """Return what is claimed to be read with one key's diode faulty."""
    seen = GHOST_DROPS[fault] <= most_drops
    ghosts = crossings_of(matrix, ghost_masks(matrix, chord.keys)[key]) if seen else ()
    lost = {place(matrix, key)} if fault is DiodeFault.REVERSED else set()
    return frozenset(held(matrix, chord)) - lost | {(ghost.row, ghost.column) for ghost in ghosts}


def assert_as_claimed(matrix: KeyMatrix, chords: Sequence[Chord], console: str) -> None:
    """Each fault in each chord reads as claimed, and located faults have signatures of their own."""
    _, _, most_drops = bench(matrix, console)
    for fault, drops in GHOST_DROPS.items():
        found = measured(matrix, chords, fault, console)
        for (number, key), low in found.items():
            assert low == claimed(matrix, chords[number], key, fault, most_drops), (fault, number, key)
        if drops <= most_drops:
            assert_told_apart(matrix, chords, found)


def assert_told_apart(
    matrix: KeyMatrix, chords: Sequence[Chord], found: dict[tuple[int, int], frozenset[Place]]
) -> None:
    """The ghosts that the solver saw, chord by chord, name every diode that is said to be located."""
    signatures = {
        key: tuple(
            found.get((number, key), frozenset()) - set(held(matrix, chord)) for number, chord in enumerate(chords)
        )
        for key in matrix.keys
    }
    count = Counter(signatures.values())
    told = {key for key, signature in signatures.items() if any(signature) and count[signature] == 1}
    assert told == chord_plan(matrix, chords).located


@pytest.mark.parametrize("console", CONSOLES)
@pytest.mark.parametrize("name", MATRICES)
def test_chords_for_hands_read_as_claimed(name: str, console: str) -> None:
    """Shorted and reversed diodes make the ghosts that are claimed, where the levels let them, and no others."""
    assert_as_claimed(MATRICES[name], plan_of(name, "hands").chords, console)


@pytest.mark.parametrize("name", MATRICES)
def test_rings_read_as_claimed(name: str) -> None:
    """Rings make the ghosts that are claimed of them."""
    assert_as_claimed(MATRICES[name], plan_of(name, "rings").chords, "Schottky at 5 V")


@pytest.mark.parametrize("console", CONSOLES)
@pytest.mark.parametrize("name", MATRICES)
def test_a_healthy_matrix_has_no_ghost(name: str, console: str) -> None:
    """With every diode sound each chord reads as it is held, at every level."""
    matrix, chords = MATRICES[name], plan_of(name, "hands").chords
    on, threshold, _ = bench(matrix, console)
    lows = on.low([(held(matrix, chord), None, "") for chord in chords], threshold)
    assert lows == [frozenset(held(matrix, chord)) for chord in chords]


@pytest.mark.parametrize("name", MATRICES)
def test_an_open_diode_loses_its_key_alone(name: str) -> None:
    """An open diode silences its own key, makes no ghost, and lets all others read."""
    matrix, chords = MATRICES[name], plan_of(name, "hands").chords
    for (number, key), low in measured(matrix, chords, DiodeFault.OPEN, "silicon at 5 V").items():
        assert low == frozenset(held(matrix, chords[number])) - {place(matrix, key)}


@pytest.mark.parametrize("console", CONSOLES)
@pytest.mark.parametrize(("keys", "chords"), [(64, EIGHT_RINGS), (61, EIGHT_CHORDS)], ids=["rings", "chords"])
def test_lists_found_elsewhere(keys: int, chords: tuple[Chord, ...], console: str) -> None:
    """Eight rings of eight locate 64 diodes, eight hand-held chords 61, spare crossings watched."""
    matrix = regular_matrix(36, keys, rows=8, columns=8, spare_heard=True)
    assert chord_plan(matrix, chords).located == set(matrix.keys)
    assert_as_claimed(matrix, chords, console)


def test_a_chord_too_few_is_noticed() -> None:
    """Without its last chord the list no longer locates every diode, so that the check can fail."""
    matrix = regular_matrix(36, 61, rows=8, columns=8, spare_heard=True)
    assert len(chord_plan(matrix, EIGHT_CHORDS[:-1]).located) < 61


@pytest.mark.parametrize("name", MATRICES)
def test_three_keys_test_their_one_diode(name: str) -> None:
    """The ghost of three keys lies at the fourth corner when the one diode is shorted, and no other one makes it."""
    matrix = MATRICES[name]
    tests = chord_plan(matrix, ()).by_three_keys
    chords = [test.chord for test in tests]
    low = measured(matrix, chords, DiodeFault.SHORTED, "silicon at 5 V")
    for number, test in enumerate(tests):
        ghost = (test.ghost.row, test.ghost.column)
        assert {key for key in test.chord.keys if ghost in low[number, key]} == {test.key}
    assert tests
