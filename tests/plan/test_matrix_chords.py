"""Chord tests of planned groups: their numbers, what is heard, and groups that have none."""

from __future__ import annotations

import pytest

from retrofit.catalogue.load import load_catalogue
from retrofit.plan.build import plan_conversion
from retrofit.plan.matrix_chords import GroupChords, NoChordsError, group_chords
from retrofit.plan.model import ConversionPlan
from retrofit.scan.addresses import MatrixAddress
from retrofit.survey.load import parse_job
from tests.plan.jobs import GREAT, HEAD, OURS, keys

CATALOGUE = load_catalogue()
ON_MATRIX = OURS + 'diodes = "schottky"\n[groups.wanted]\ninterface = "matrix"\n'


def planned(text: str) -> ConversionPlan:
    """Return the plan of a job with one great manual, given its groups."""
    return plan_conversion(parse_job(HEAD + GREAT + text, "job.toml"), CATALOGUE)


def chords_of(text: str, group: str = "great") -> GroupChords:
    """Return the chord tests of a group of a job."""
    return group_chords(planned(text), CATALOGUE, group)


def test_keys_go_by_their_notes() -> None:
    """25 keys from note 36 are numbered by note and located but for the last, each at the address of the plan."""
    found = chords_of(keys(25, ON_MATRIX))
    assert found.tests.located == set(range(36, 60))
    assert found.crossings[36] == MatrixAddress(1, 0, 0)
    assert found.not_played == ()


def test_a_key_alone_on_its_row_has_no_ghost() -> None:
    """Key 25 of 25 on rows of eight has no neighbour in its row, so that a short there is harmless."""
    assert chords_of(keys(25, ON_MATRIX)).tests.without_ghost == (60,)


def test_a_group_on_the_chain_has_none() -> None:
    """A group that is read by the chain is refused with where it lies."""
    with pytest.raises(NoChordsError, match="great is not on a diode matrix: its points lie elsewhere"):
        chords_of(keys(25, OURS))


def test_a_group_that_found_no_place() -> None:
    """On a board that nobody knows nothing has a place, and that is the reason."""
    plan = planned('[wanted]\nboard = "no-such-board"\n' + keys(25, ON_MATRIX))
    with pytest.raises(NoChordsError, match="none of its points has a place"):
        group_chords(plan, CATALOGUE, "great")


def test_a_matrix_without_diodes() -> None:
    """Where there are no diodes a chord proves nothing, and the remedy is said."""
    with pytest.raises(NoChordsError, match="fit a diode at each key"):
        chords_of(keys(25, ON_MATRIX.replace("schottky", "none")))


def test_a_key_that_sends_nothing_hears_no_ghost() -> None:
    """A key left out on purpose is neither held nor heard; a dead one is not held, and heard all the same."""
    marked = '[[groups.points]]\nnote = 45\ncondition = "{}"\n'
    heard = {}
    for condition in ("left-out", "dead"):
        found = chords_of(keys(25, marked.format(condition) + ON_MATRIX))
        assert found.not_played == ("great.45",)
        assert 45 not in found.tests.matrix.keys
        heard[condition] = {found.key_at[crossing] for crossing in found.tests.matrix.heard}
    assert heard["dead"] - heard["left-out"] == {45}
