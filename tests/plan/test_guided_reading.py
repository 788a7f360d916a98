"""Guided readings without a screen: questions of each step, what answers mean, and the edits that write them."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from retrofit.circuits.line.evidence import Evidence, Taken
from retrofit.circuits.line.next_reading import Step, steps_again
from retrofit.plan.bench_words import hands, keying, line_words
from retrofit.plan.guided_reading import Question, Signed, answered, is_unknown, questions, read_once, understood
from retrofit.survey.load import load_job, parse_job
from retrofit.survey.points import Point, PointKind, list_points
from retrofit.survey.problems import RefusedValueError
from retrofit.survey.readings import DeadReadings, Load, State
from retrofit.survey.save import Edit, edited_text

JOB = Path(__file__).parent / "awkward/positive_ground.toml"
SIGNED = Signed("great", "great.36", date(2026, 3, 7), "QT")
METER = Step("", State.IDLE, Load.METER)


def edited(edit: Edit) -> str:
    """Return the text of the job after an edit, which must leave it sound."""
    return edited_text(JOB.read_text(encoding="utf-8"), "job.toml", edit)


def test_the_meter_alone_is_read_on_both_ranges_and_a_load_on_one() -> None:
    """DC and AC volts with the meter alone; a resistor beside it asks for DC alone."""
    assert [question.name for question in questions(METER)] == ["volts", "ac_volts"]
    assert [question.name for question in questions(Step("", State.KEYED, Load.MEGOHM))] == ["volts"]


@pytest.mark.parametrize("name", list(DeadReadings.model_fields))
def test_every_reading_taken_once_has_its_question(name: str) -> None:
    """The field of the job file is the name of the question, and a value in its unit is written there."""
    key = "diode" if name.startswith("diode") else name
    question = next(one for one in questions(Step("", key=key)) if one.name == name)
    answer = {"V": "0,6", "Ω": "4k7", "s": "3 ms", "Hz": "100"}.get(question.unit, "2" if name == "leaves" else "yes")

    assert understood(question, answer)
    job = parse_job(edited(read_once("great", {name: answer})), "job.toml")
    assert getattr(job.groups[0].wiring.dead, name) != getattr(DeadReadings(), name)


def test_a_reading_of_the_line_is_signed_and_dated() -> None:
    """Words as typed, state, load, day and initials stand in one row."""
    edit = answered(SIGNED, Step("", State.KEYED, Load.TEN_KILOHM), {"volts": "12,4 V"})
    reading = parse_job(edited(edit), "job.toml").groups[0].wiring.readings[-1]

    assert (reading.line, reading.state, reading.load) == ("great.36", State.KEYED, Load.TEN_KILOHM)
    assert (reading.volts.raw, reading.date, reading.initials) == ("12,4 V", date(2026, 3, 7), "QT")


def test_another_line_is_read_under_its_own_name() -> None:
    """The answer names the line; the reading is of that one, keyed, with the meter alone."""
    step = Step("", key="other-line")
    edit = answered(SIGNED, step, {"line": "great.49", "volts": "-18,1"})
    reading = parse_job(edited(edit), "job.toml").groups[0].wiring.readings[-1]

    assert (reading.line, reading.state, reading.load) == ("great.49", State.KEYED, Load.METER)


@pytest.mark.parametrize(
    ("question", "text", "meant"),
    [
        (Question("volts", "", "V"), " 12,4 V ", "12.4 V"),
        (Question("series", "", "Ω"), "4k7", "4.7 kΩ"),
        (Question("series", "", "Ω"), "OL", "OL: beyond the meter's range, or an open circuit"),
        (Question("volts", "", "V"), "drifts", "it wanders: the figure does not come to rest"),
        (Question("volts", "", "V"), "", "not read"),
        (Question("fall_time", "", "s"), "3,2 ms", "3.2 ms"),
        (Question("leaves", ""), "016", "16 in all"),
        (Question("leaves", ""), "?", "not counted"),
        (Question("sweeps", ""), "no", "no"),
        (Question("sweeps", ""), "unknown", "not known"),
        (Question("line", ""), "great.49", "the line great.49"),
        (Question("line", ""), " ", "not read"),
    ],
)
def test_an_answer_is_said_back_in_plain_words(question: Question, text: str, meant: str) -> None:
    """What the bench writes is repeated as the figure it is taken for."""
    assert understood(question, text) == meant


@pytest.mark.parametrize(
    ("question", "text"),
    [
        (Question("volts", "DC volts", "V"), "twelve"),
        (Question("volts", "DC volts", "V"), "1,234"),
        (Question("ac_volts", "AC volts", "V"), "-1 V"),
        (Question("series", "", "Ω"), "-3"),
        (Question("leaves", ""), "0"),
        (Question("leaves", ""), "17"),
        (Question("leaves", ""), "9" * 400),
        (Question("leaves", ""), "²"),
        (Question("sweeps", ""), "perhaps"),
    ],
)
def test_an_answer_that_cannot_be_meant_is_refused(question: Question, text: str) -> None:
    """With what was found and what is allowed, and never with another error."""
    with pytest.raises(RefusedValueError, match="allowed"):
        understood(question, text)


@pytest.mark.parametrize("text", ["", " ", "?", "-", "Unknown", "not read"])
def test_ways_to_say_that_nothing_was_read(text: str) -> None:
    """They are no answer; OL and wanders are."""
    assert is_unknown(text)
    assert not is_unknown("OL")
    assert not is_unknown("wanders")


def test_hands_are_told_lead_by_lead() -> None:
    """Black on the return, the load, red on the wire by tag, the key by note: in the order in which it is done."""
    point = next(point for point in list_points(load_job(JOB)) if point.id == "great.48")
    told = hands(Step("", State.KEYED, Load.HUNDRED_KILOHM), "great.48", point)

    assert told[0] == "Clip black to the organ's return and leave it there."
    assert "100 kΩ" in told[1]
    assert told[2] == "Touch red to the line great.48."
    assert told[3] == "Press and hold key C3, note 48."
    assert told[4] == "Type the DC volts as the meter shows them."


def test_ohms_are_read_only_after_it_is_proved_dead() -> None:
    """Every step that the power is off for begins with plug and meter; the others with the black clip."""
    dead = Step("power off: ohms from the bus to the line, key down", key="series")
    alive = Step("does the console move this control by itself?", key="moves_by_itself")

    assert hands(dead, "great.36", None) == (
        "Power off, plug out, and prove it dead with a tried meter; press nothing unless it says so.",
        "Then: ohms from the bus to the line, key down.",
    )
    assert hands(alive, "great.36", None)[1] == "Does the console move this control by itself?"


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        (PointKind.KEY, "Press and hold key C4, note 60."),
        (PointKind.PISTON, "Press and hold Set."),
        (PointKind.STOP, "Put Set on."),
        (PointKind.STAGE, "Move the control until Set closes, and hold it there."),
        (PointKind.SHOE, "Open Set fully, and hold it there."),
    ],
)
def test_each_kind_of_control_is_keyed_in_its_own_way(kind: PointKind, words: str) -> None:
    """Keys by their note, everything else by its name; a line known by its tag alone by what it serves."""
    note, name = (60, "") if kind is PointKind.KEY else (None, "Set")

    assert keying(Point("g.x", "g", "d", kind, 0, name, note)) == words
    assert "what it serves" in keying(None)


def test_a_line_is_named_with_what_is_written_on_it() -> None:
    """Tag, strip and colour as far as they are known; a tag alone stands for itself."""
    theatre = list_points(load_job(Path(__file__).parents[2] / "retrofit/demo/theatre.toml"))
    point = next(point for point in theatre if point.id == "great.36")

    assert line_words("great.36", point) == "great.36 (tag 1, strip B, white/red)"
    assert line_words("B 17", None) == "B 17"


def test_what_was_taken_is_taken_again_the_oldest_first() -> None:
    """One step for each state and load, in the order of their latest readings."""
    idle, keyed = Taken(State.IDLE, Load.METER, 0.0), Taken(State.KEYED, Load.METER, 0.012)
    steps = steps_again(Evidence(taken=(idle, keyed, idle)))

    assert [(step.state, step.load) for step in steps] == [(State.KEYED, Load.METER), (State.IDLE, Load.METER)]
    assert steps_again(Evidence()) == ()
