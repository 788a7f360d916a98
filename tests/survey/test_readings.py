"""Raw readings: how they are written, what they may say, and the lock of the as-found record."""

from __future__ import annotations

import tomllib
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from retrofit.survey.as_found_check import as_found_digest
from retrofit.survey.atomic_write import SaveError
from retrofit.survey.base import Ternary
from retrofit.survey.bench import ReadingState
from retrofit.survey.contacts import KeyGroup
from retrofit.survey.job import Job
from retrofit.survey.load import load_job, parse_job
from retrofit.survey.problems import JobFileError
from retrofit.survey.readings import Load, State
from retrofit.survey.save import append_reading, edit_job, set_value
from tests.survey.places import GOOD

DAY = date(2026, 3, 7)
READING: dict[str, Any] = {"line": "great.36", "state": "keyed", "volts": "12,4 V", "date": DAY, "initials": "QT"}


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """A copy of the good job."""
    copy = tmp_path / "job.toml"
    copy.write_text(GOOD.read_text(encoding="utf-8"), encoding="utf-8")
    return copy


def keys_of(job: Job) -> KeyGroup:
    """Return the keys of the good job."""
    group = job.groups[0]
    assert isinstance(group, KeyGroup)
    return group


def lock(path: Path, day: date = DAY) -> None:
    """Lock the record of a job as it is."""
    digest = as_found_digest(load_job(path), day)
    locked = {"date": day, "initials": "QT", "digest": digest}
    edit_job(path, lambda document: set_value(document, ("as_found", "locked"), locked))


def problem_of(path: Path) -> str:
    """Return the one problem of a job file."""
    with pytest.raises(JobFileError) as caught:
        load_job(path)
    (problem,) = caught.value.problems
    return str(problem)


def test_a_reading_keeps_its_words_beside_its_number(path: Path) -> None:
    """What was typed stays; load and AC have their honest defaults."""
    append_reading(path, "great", READING)
    (reading,) = keys_of(load_job(path)).wiring.readings

    assert (reading.volts.raw, reading.volts.value) == ("12,4 V", 12.4)
    assert (reading.state, reading.load) == (State.KEYED, Load.METER)
    assert reading.ac_volts.state is ReadingState.UNKNOWN


@pytest.mark.parametrize(
    ("words", "state"),
    [("OL", ReadingState.OPEN), ("wanders", ReadingState.WANDERS), ("unknown", ReadingState.UNKNOWN)],
)
def test_a_reading_may_be_no_number(path: Path, words: str, state: ReadingState) -> None:
    """An overload, a wandering display and a reading not taken are kept as what they are."""
    append_reading(path, "great", READING | {"volts": words})

    assert keys_of(load_job(path)).wiring.readings[0].volts.state is state


def test_readings_are_added_and_never_replaced(path: Path) -> None:
    """A second reading of the same line stands after the first, and everything else stays as the user wrote it."""
    before = path.read_text(encoding="utf-8")
    append_reading(path, "great", READING)
    append_reading(path, "great", READING | {"volts": "1.2"})
    after = path.read_text(encoding="utf-8")

    assert [reading.volts.raw for reading in keys_of(load_job(path)).wiring.readings] == ["12,4 V", "1.2"]
    assert [line for line in before.splitlines() if line not in after.splitlines()] == []
    assert before in [backup.read_text(encoding="utf-8") for backup in path.parent.glob("job.toml.*")]


def test_readings_join_those_that_stand_in_tables_of_their_own(path: Path) -> None:
    """Whoever wrote `[[groups.wiring.readings]]` by hand gets the next one in the same way."""
    table = (
        '\n[[groups.wiring.readings]]\nline = "T 7"\nstate = "idle"\nvolts = "0"\ndate = 2026-03-07\ninitials = "QT"\n'
    )
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace('[[groups]]\nid = "tabs"', f'{table}\n[[groups]]\nid = "tabs"'), encoding="utf-8")
    append_reading(path, "great", READING)

    assert [reading.line for reading in keys_of(load_job(path)).wiring.readings] == ["T 7", "great.36"]
    assert path.read_text(encoding="utf-8").count("[[groups.wiring.readings]]") == 2


def test_any_words_may_stand_on_a_tag(path: Path) -> None:
    """Quotes, comments and other scripts come back as they were typed."""
    words = "Ü \"*/ #error' 線 7"
    append_reading(path, "great", READING | {"line": words})

    assert keys_of(load_job(path)).wiring.readings[0].line == words


def test_a_wrong_reading_is_not_written(path: Path) -> None:
    """Words that are no volts are refused, and the file stays as it was."""
    before = path.read_bytes()
    with pytest.raises(JobFileError, match="'twelve'"):
        append_reading(path, "great", READING | {"volts": "twelve"})
    with pytest.raises(SaveError, match="did you mean 'great'"):
        append_reading(path, "graet", READING)

    assert path.read_bytes() == before


def test_readings_taken_once_know_ohms_volts_hertz_and_answers(path: Path) -> None:
    """Each has its unit; OL stands for an open circuit; questions are yes, no or unknown."""
    once = {"series": "OL", "diode_forward": "0,56 V", "frequency": "1,2 kHz", "leaves": 3, "sweeps": True}
    edit_job(path, lambda document: document["groups"][0]["wiring"].update({"dead": once}))
    dead = keys_of(load_job(path)).wiring.dead

    assert dead.series.state is ReadingState.OPEN
    assert dead.frequency.value == 1200
    assert (dead.leaves, dead.sweeps, dead.steps) == (3, Ternary.YES, Ternary.UNKNOWN)


def test_a_locked_record_opens_as_long_as_nothing_is_changed(path: Path) -> None:
    """The lock says who and when; a later reading, a conclusion and a comment do not touch it."""
    append_reading(path, "great", READING)
    lock(path)
    append_reading(path, "great", READING | {"date": date(2026, 3, 8)})
    edit_job(path, lambda document: set_value(document, ("groups", "great", "wiring", "keyed"), {"volts": "12 V"}))
    path.write_text("# a comment\n" + path.read_text(encoding="utf-8"), encoding="utf-8")

    locked = load_job(path).as_found.locked
    assert locked is not None
    assert (locked.initials, locked.date) == ("QT", DAY)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('volts = "12,4 V", date', 'volts = "12,3 V", date'),
        ('initials = "QT"},\n]', 'initials = "XX"},\n]'),
        ('volts_rest = "12,4 V"', 'volts_rest = "12,5 V"'),
        ('[groups.wiring]\nowner = "us"', '[groups.wiring]\ncontact_resistance = "1"\nowner = "us"'),
        ('[groups.wiring]\nowner = "us"', '[groups.wiring]\ndead = { series = "1" }\nowner = "us"'),
    ],
)
def test_a_change_after_the_lock_is_named(path: Path, old: str, new: str) -> None:
    """Volts, initials, a supply, a contact or a reading taken once: each change is found, with the way out."""
    append_reading(path, "great", READING)
    lock(path)
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")

    said = problem_of(path)
    assert "as_found.locked" in said
    assert "put the old readings back" in said


def test_a_reading_of_the_locked_days_is_refused(path: Path) -> None:
    """Nothing can be slipped into the record, nor taken out of it, by way of saving."""
    append_reading(path, "great", READING)
    lock(path)
    with pytest.raises(JobFileError, match="locked by 'QT'"):
        append_reading(path, "great", READING)
    with pytest.raises(JobFileError, match="locked by 'QT'"):
        edit_job(path, lambda document: document["groups"][0]["wiring"]["readings"].clear())


def test_diode_readings_take_part_in_the_record_from_the_first_one(path: Path) -> None:
    """A record locked without any keeps its digest; one slipped in, or changed, is found; a later day's is free."""
    lock(path)
    table = (
        '\n[[groups.wiring.diode_readings]]\nkey = "C2"\nfrom_pin = "1"\nto_pin = "9"\n'
        'volts = "0,56 V"\ndate = 2026-03-08\ninitials = "QT"\n'
    )
    text = path.read_text(encoding="utf-8").replace('[[groups]]\nid = "tabs"', f'{table}\n[[groups]]\nid = "tabs"')
    path.write_text(text, encoding="utf-8")
    (test,) = keys_of(load_job(path)).wiring.diode_readings
    assert (test.key, test.volts.raw) == (36, "0,56 V")

    path.write_text(text.replace("2026-03-08", "2026-03-07"), encoding="utf-8")
    assert "as_found.locked" in problem_of(path)


def test_the_digest_is_that_of_the_words(path: Path) -> None:
    """The same volts in other words are another record; the order of keys is not part of it."""
    append_reading(path, "great", READING)
    text = path.read_text(encoding="utf-8")
    digest = as_found_digest(parse_job(text, "job"), DAY)

    assert as_found_digest(parse_job(text.replace('"12,4 V", date', '"12.4 V", date'), "job"), DAY) != digest
    data = tomllib.loads(text)
    turned = Job.model_validate(dict(reversed(data.items())))
    assert as_found_digest(turned, DAY) == digest
