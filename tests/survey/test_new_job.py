"""A new job file from a few answers."""

from __future__ import annotations

import dataclasses
import re
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from retrofit.survey.load import parse_job
from retrofit.survey.new_job import NewCompass, NewJob, new_job_text, parse_compass
from retrofit.survey.points import list_points
from retrofit.survey.problems import JobFileError, RefusedValueError
from retrofit.survey.wishes import Interface, Sense

FULL = NewJob(
    name="organ",
    manuals=(NewCompass(61), NewCompass(61), NewCompass(44, 53)),
    pedal=NewCompass(32),
    stops=24,
    pistons=8,
    studs=4,
    shoes=2,
    roller_stages=10,
    preserved=True,
)
NAMES = st.text(st.characters(exclude_characters="\0", exclude_categories=["Cs"]), min_size=1, max_size=40)


def test_the_text_describes_what_was_answered() -> None:
    """Every answer is found again in the job."""
    job = parse_job(new_job_text(FULL), "new.toml")

    assert [(group.id, group.kind) for group in job.groups] == [
        ("manual-1", "manual"),
        ("manual-2", "manual"),
        ("manual-3", "manual"),
        ("pedal", "pedalboard"),
        ("stops", "stops"),
        ("pistons", "pistons"),
        ("studs", "toe-studs"),
        ("shoes", "shoes"),
        ("roller", "roller"),
    ]
    assert job.originals.preserved
    assert len(list_points(job)) == 61 + 61 + 44 + 32 + 24 + 8 + 4 + 2 + 1 + 10


def test_nothing_is_claimed_to_be_measured() -> None:
    """Every reading of a new file is unknown."""
    job = parse_job(new_job_text(FULL), "new.toml")

    for group in job.groups:
        wiring = group.wiring
        readings = [
            wiring.idle.volts,
            wiring.keyed.volts,
            wiring.contact_resistance,
            wiring.bounce,
            wiring.cable_length,
        ]
        assert [reading.state for reading in readings] == ["unknown"] * 5
        assert wiring.owner == "unknown"


def test_wishes_are_there_to_be_uncommented() -> None:
    """Each group of contacts has the wishes as comments that hold when the sign is taken away; shoes have none."""
    text = new_job_text(FULL)
    assert text.count("# [groups.wanted]") == 7
    wished = re.sub(
        r"^# (\[groups\.wanted\]|interface = |sense = |keyed_reads_high = )", r"\1", text, flags=re.MULTILINE
    )

    job = parse_job(wished, "new.toml")

    wishes = [group.wanted for group in job.groups if group.kind not in ("shoes", "roller")]
    assert {(wish.interface, wish.sense, wish.keyed_reads_high) for wish in wishes} == {("chain", "unknown", True)}
    for word in (*Interface, *Sense):
        assert f"{word}" in text


def test_make_safe_is_asked_for_where_the_organ_owns_lines() -> None:
    """The comment above the record states the condition of the gate: lines that the organ owns."""
    comment = new_job_text(FULL).split("[make_safe]")[0].rsplit("\n\n", 1)[1]
    assert "While a group's owner is organ" in comment
    assert "lines\n# are all ours is not asked for it" in comment


def test_every_group_is_led_by_a_comment() -> None:
    """The line above each group says what the group is."""
    lines = new_job_text(FULL).splitlines()
    above = [lines[place - 1] for place, line in enumerate(lines) if line == "[[groups]]"]

    assert len(above) == 9
    assert [line for line in above if not line.startswith("# ")] == []


@given(
    NAMES,
    st.lists(st.builds(NewCompass, st.integers(1, 64), st.integers(0, 64)), max_size=5),
    st.none() | st.builds(NewCompass, st.integers(1, 32)),
    st.tuples(*[st.integers(0, 5)] * 4),
    st.sampled_from([0, 2, 12]),
    st.booleans(),
)
def test_any_good_answers_give_a_file_without_problems(
    name: str,
    manuals: list[NewCompass],
    pedal: NewCompass | None,
    counts: tuple[int, int, int, int],
    stages: int,
    preserved: bool,
) -> None:
    """What can be answered can be loaded, whatever the name holds."""
    answers = NewJob(name, tuple(manuals), pedal, *counts, roller_stages=stages, preserved=preserved)
    if not manuals and pedal is None and not any(counts) and not stages:
        return

    job = parse_job(new_job_text(answers), "new.toml")

    assert job.instrument.name == name
    assert len(job.groups) == len(manuals) + (pedal is not None) + sum(n > 0 for n in counts) + (stages > 0)


@pytest.mark.parametrize(
    ("answer", "compass"),
    [("61", (61, 36)), ("61@36", (61, 36)), ("49@C3", (49, 48)), (" 44 @ F3 ", (44, 53)), ("1", (1, 36))],
)
def test_a_compass_is_answered_by_keys_and_lowest_note(answer: str, compass: tuple[int, int]) -> None:
    """A plain number starts at C2 (AGO console standard: note 36)."""
    assert parse_compass(answer) == NewCompass(*compass)


@pytest.mark.parametrize("answer", ["", "0", "129", "3000", "-1", "61@", "61@H", "@36", "sixty", "61@36@1", "６１"])
def test_an_answer_that_is_no_compass_is_refused(answer: str) -> None:
    """The refusal shows how to answer."""
    with pytest.raises(RefusedValueError, match=r"such as C2|61@36"):
        parse_compass(answer)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"name": ""}, "name"),
        ({"name": "x" * 401}, "name"),
        ({"name": "a\0b"}, "NUL"),
        ({"name": "a\udc80b"}, "Unicode"),
        ({"manuals": (NewCompass(61),) * 9}, "at most 8"),
        ({"manuals": (NewCompass(61, 100),)}, "61 keys from note 100"),
        ({"manuals": (NewCompass(61, 68),)}, "61 keys from note 68"),
        ({"manuals": (NewCompass(61, -1),)}, "61 keys from note -1"),
        ({"pedal": NewCompass(0)}, "pedal"),
        ({"stops": 513}, "0 to 512"),
        ({"pistons": -1}, "pistons"),
        ({"studs": 513}, "studs"),
        ({"shoes": 9}, "0 to 8"),
        ({"roller_stages": 1}, "2 to 64"),
        ({"board": "A Board"}, "board"),
        ({"manuals": ()}, "at least one keyboard"),
    ],
)
def test_answers_that_do_not_fit_are_told(change: dict[str, Any], words: str) -> None:
    """Each wrong answer is named with what is allowed."""
    answers = dataclasses.replace(NewJob("organ"), **change)

    with pytest.raises(JobFileError, match=words):
        new_job_text(answers)


def test_a_keyboard_may_reach_the_highest_note() -> None:
    """Note 127 is the last of MIDI 1.0."""
    job = parse_job(new_job_text(NewJob("organ", (NewCompass(61, 67),))), "new.toml")

    assert [point.note for point in list_points(job)] == list(range(67, 128))


def test_all_wrong_answers_are_told_together() -> None:
    """Nobody has to answer again and again."""
    with pytest.raises(JobFileError) as caught:
        new_job_text(NewJob("", stops=-1, shoes=99))

    assert [problem.key for problem in caught.value.problems] == ["name", "stops", "shoes"]
