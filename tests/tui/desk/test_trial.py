"""Trying an edit out on a copy, and the wishes that are tried."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from retrofit.circuits.sense.design import Felt, SenseDesign
from retrofit.plan.sensing.candidates import wish_for
from retrofit.survey.problems import JobFileError
from retrofit.survey.save import edited_text
from retrofit.survey.wishes import Interface, Sense
from tui.desk.desk import Desk
from tui.desk.state import DeskState
from tui.desk.trial import Trial, try_out
from tui.desk.wishes import (
    NO_WISH,
    circuit_rows,
    interface_rows,
    interface_wish,
    originals_wish,
    own_statements,
    sense_wish,
)

ROOT = Path(__file__).parents[3]


def state_of(folder: Path, name: str = "retrofit/demo/gutted_home.toml") -> DeskState:
    """Return an invented job as it is opened."""
    return Desk(Path(shutil.copy(ROOT / name, folder))).state


def test_a_trial_leaves_the_job_and_its_file_alone(tmp_path: Path) -> None:
    """The plan of the trial is another; the state and the file are what they were."""
    state = state_of(tmp_path)
    before = state.path.read_bytes()
    trial = try_out(state, originals_wish(True))

    assert trial.plan.job.originals.preserved
    assert state.job is not None
    assert not state.job.originals.preserved
    assert state.path.read_bytes() == before


def test_papers_that_come_are_named(tmp_path: Path) -> None:
    """With originals preserved there is something to put back, and papers that say how."""
    trial = try_out(state_of(tmp_path), originals_wish(True))
    papers = next(effect for effect in trial.effects if effect.subject == "papers")

    assert papers.lines == ("+ putback-sheet.csv", "+ putback-sheet.txt", "+ change-notes.txt")
    assert "papers: 3" in trial.counts


def test_a_trial_that_changes_nothing_says_so(tmp_path: Path) -> None:
    """Every subject with the word nothing."""
    trial = try_out(state_of(tmp_path), sense_wish("upper", "pull-up"))

    assert trial.counts == "circuits: none, steps: none, papers: none, findings: none, the board: none"
    assert trial.lines.count("  nothing") == 5


def test_a_long_list_is_cut_and_counted(tmp_path: Path) -> None:
    """All 61 keys of a manual read the other way round; forty lines are shown and the rest is counted."""
    trial = try_out(state_of(tmp_path), sense_wish("upper", "pull-down"))
    board = next(effect for effect in trial.effects if effect.subject == "the board")

    assert len(board.lines) == 61
    assert "  and 21 lines more" in trial.lines


def test_an_edit_that_leaves_no_sound_job_is_refused(tmp_path: Path) -> None:
    """With every problem that it would bring."""
    with pytest.raises(JobFileError, match="nothing-known"):
        try_out(state_of(tmp_path), sense_wish("upper", "nothing-known"))


def test_a_job_without_a_plan_is_not_tried(tmp_path: Path) -> None:
    """There is nothing to compare with."""
    path = tmp_path / "broken.toml"
    path.write_text("format = 1\n", encoding="utf-8")

    with pytest.raises(ValueError, match="no plan"):
        try_out(Desk(path).state, originals_wish(True))


def test_every_circuit_that_a_line_permits_can_be_wished_for(tmp_path: Path) -> None:
    """No wish first, then each circuit once with verdict and reason, and the wish that stands is among them."""
    state = state_of(tmp_path, "tests/plan/awkward/positive_ground.toml")
    assert state.plan is not None
    rows, now = circuit_rows(state.plan, state.plan.sensing[0])
    keys = [key for key, _ in rows]

    assert now == NO_WISH == keys[0]
    assert set(keys) == {sense.value for sense in Sense}
    assert len(keys) == len(set(keys))
    assert all(words[2] for _, words in rows)


@pytest.mark.parametrize("wish", [sense for sense in Sense if sense is not Sense.UNKNOWN])
def test_a_wish_leads_to_the_circuit_that_it_names(tmp_path: Path, wish: Sense) -> None:
    """Whatever a plan chooses for a wish that it follows, is the circuit of that wish."""
    state = state_of(tmp_path, "tests/plan/awkward/positive_ground.toml")
    sensed = try_out(state, sense_wish("great", wish.value)).plan.sensing[0]

    assert sensed.chosen is not None
    assert (wish_for(sensed.chosen) is wish) == (not sensed.wish_refused)


def test_nobody_wishes_for_a_circuit_of_no_name() -> None:
    """What is listened to, or read by a converter, fulfils no wish."""
    felt = Felt(None, None, None, None, None, None)
    strange = SenseDesign("synchronous listening to strobes that are there", True, None, (), (), felt)

    assert wish_for(strange) is Sense.UNKNOWN


def test_the_wish_for_an_interface_comes_and_goes(tmp_path: Path) -> None:
    """It is a word of the group while it stands, and not there when nothing is wished."""
    state = state_of(tmp_path)
    assert state.plan is not None
    rows, now = interface_rows(state.plan, "pistons")
    assert now == "pins"
    assert {key for key, _ in rows} == {NO_WISH, *(interface.value for interface in Interface)}

    gone: Trial = try_out(state, interface_wish("pistons", NO_WISH))
    group = next(group for group in gone.plan.job.groups if group.id == "pistons")
    assert group.wanted.interface is None
    assert interface_rows(gone.plan, "pistons")[1] == NO_WISH


def test_groups_that_speak_for_themselves_are_named(tmp_path: Path) -> None:
    """They keep their own word whatever the job says."""
    state = state_of(tmp_path)
    assert state.job is not None
    assert own_statements(state.job) == []

    def edit(document: object) -> None:
        document["groups"][0]["originals_preserved"] = True  # type: ignore[index]  # a document of the job

    own = try_out(state, edit).plan.job
    assert own_statements(own)[0].endswith("upper (preserved).")
    assert edited_text(state.text, "job.toml", edit) != state.text
