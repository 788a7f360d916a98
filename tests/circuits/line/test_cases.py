"""Every as-found case, read with a noisy meter by the proposed sequence: both kinds of error counted."""

from __future__ import annotations

import sys
from collections import Counter
from dataclasses import replace
from random import Random

import pytest

from retrofit.circuits.line.as_found_cases import AS_FOUND_CASES, cases_of
from retrofit.circuits.line.classes import SIGNATURES, LineClass
from retrofit.circuits.line.classify import Classified, Confidence, classify
from retrofit.circuits.line.next_reading import Step, next_step, next_steps
from retrofit.survey.readings import Load, State
from tests.circuits.line.found import BUILDERS, Bench, Found, from_bus

SEEDS = 20
MOST_UNNAMED_SHARE = 0.005
MOST_STEPS = 16

NEVER_TEN_KILOHM = {4, 5, 7, 8, 11, 17, 18, 24, 33}
"""Gates, audio, resistors in series, scanned and data lines, by the number of the case."""
NEVER_A_HUNDRED = {7, 11, 17, 18, 24, 33}
MAY_MEET_THE_SUPPLY = {2}


def survey(found: Found, random: Random) -> tuple[list[Classified], list[Step]]:
    """Read one line to the end of the proposed sequence; return the class after each step, and the steps."""
    bench = Bench(found, random)
    said: list[Classified] = []
    steps: list[Step] = []
    while (step := next_step(bench.evidence)) is not None:
        assert len(steps) < MOST_STEPS, steps
        bench.take(step)
        steps.append(step)
        said.append(classify(bench.evidence))
    return said, steps


def survey_case(number: int, seed: int) -> tuple[list[Classified], list[Step]]:
    """Read a line of the case of that number, counted from 1."""
    random = Random(f"{number} {seed}")
    return survey(BUILDERS[number - 1](random), random)


def loads_of(steps: list[Step]) -> list[Load]:
    """Return the loads that were put on the line."""
    return [step.load for step in steps if step.load is not None]


def test_the_proposed_readings_name_every_case(capsys: pytest.CaptureFixture[str]) -> None:
    """With 1 % of noise no line is ever called what it is not, and all but very few get their name."""
    wrong, unnamed, steps = Counter[str](), Counter[str](), Counter[int]()
    for number, case in enumerate(AS_FOUND_CASES, 1):
        for seed in range(SEEDS):
            said, taken = survey_case(number, seed)
            steps[len(taken)] += 1
            wrong[case.found] += any(c.named not in (None, case.line_class) for c in said)
            unnamed[case.found] += said[-1].named is not case.line_class
    lines = steps.total()
    mean = sum(size * times for size, times in steps.items()) / lines
    with capsys.disabled():
        sys.stdout.write(
            f"\n{lines} lines: {wrong.total()} called wrongly, {unnamed.total()} not named; "
            f"{mean:.1f} steps on average, {max(steps)} at most\n"
        )
    assert +wrong == {}
    assert unnamed.total() <= MOST_UNNAMED_SHARE * lines, +unnamed


def test_readings_alone_tell_at_least_twenty_cases_from_all_others() -> None:
    """Each of these has a class that no other case has; every other case says which question it needs."""
    alone = [case for case in AS_FOUND_CASES if case.by_readings]
    classes = Counter(case.line_class for case in alone)

    assert len(AS_FOUND_CASES) == len(BUILDERS) == 33
    assert len(alone) >= 20
    assert set(classes.values()) == {1}
    for case in AS_FOUND_CASES:
        assert case.question.endswith("?") != case.by_readings


def test_a_class_lists_the_cases_that_look_like_it() -> None:
    """A positive bus is also that of tabs, pistons and pedals; audio is one case alone."""
    assert len(cases_of(LineClass.POSITIVE)) == 9
    assert [case.found for case in cases_of(LineClass.AUDIO)] == ["contacts that carry audio"]
    assert {case.line_class for case in AS_FOUND_CASES} == set(LineClass) - {LineClass.MAINS, LineClass.RETURN_NEGATIVE}


@pytest.mark.parametrize("number", sorted(NEVER_TEN_KILOHM))
def test_lines_that_could_speak_never_meet_a_heavy_load(number: int) -> None:
    """Whatever has been read so far, 10 kΩ never comes near gates and signals, nor 100 kΩ near signals."""
    for seed in range(SEEDS):
        loads = loads_of(survey_case(number, seed)[1])

        assert Load.TEN_KILOHM not in loads
        assert number not in NEVER_A_HUNDRED or Load.HUNDRED_KILOHM not in loads


def test_only_a_line_keyed_to_return_is_ever_fed() -> None:
    """A resistor to the supply is proposed at lines that the key joins to return, and at no other."""
    fed = {
        number
        for number in range(1, len(BUILDERS) + 1)
        for seed in range(5)
        if Load.TO_SUPPLY in loads_of(survey_case(number, seed)[1])
    }

    assert fed == MAY_MEET_THE_SUPPLY


def test_loads_come_lightest_first() -> None:
    """Of each state the meter alone comes first, then 1 MΩ, then 100 kΩ, then 10 kΩ."""
    order = list(Load)
    for number in range(1, len(BUILDERS) + 1):
        _, steps = survey_case(number, 0)
        for state in State:
            loads = [order.index(step.load) for step in steps if step.state is state and step.load is not None]
            assert loads == sorted(loads)


def test_a_sure_class_says_why() -> None:
    """Every feature that its class asks for stands among the reasons."""
    said, _ = survey_case(1, 0)

    assert said[-1].confidence is Confidence.SURE
    assert "volts when keyed: positive" in said[-1].reasons
    assert len(said[-1].reasons) == len(SIGNATURES[LineClass.POSITIVE].allowed)


def test_before_anything_is_read_nothing_is_named() -> None:
    """Every class is open, and the meter alone is asked for in both states."""
    bench = Bench(from_bus(Random(1)), Random(1))
    nothing = classify(bench.evidence)

    assert (nothing.named, nothing.confidence) == (None, Confidence.OPEN)
    assert set(nothing.candidates) == set(LineClass)
    assert [(step.state, step.load) for step in next_steps(bench.evidence)] == [
        (State.IDLE, Load.METER),
        (State.KEYED, Load.METER),
    ]


def test_two_traits_at_once_are_both_said() -> None:
    """A key of several leaves on a gate with decay is called a gate, and its leaves are not forgotten."""
    random = Random(7)
    gate = replace(BUILDERS[3](random), leaves=4)
    said, _ = survey(gate, random)

    assert said[-1].named is LineClass.DECAYING_GATE
    assert said[-1].also == (LineClass.LEAVES,)


def test_mains_is_left_alone_at_once() -> None:
    """After the meter alone has shown mains, nothing more is asked and nothing else is possible."""
    random = Random(3)
    bench = Bench(Found(from_bus(random).parts), random)
    for step in next_steps(bench.evidence):
        bench.take(step)
    loud = tuple(replace(taken, ac_volts=118.0) for taken in bench.evidence.taken)
    evidence = replace(bench.evidence, taken=loud)

    assert classify(evidence).named is LineClass.MAINS
    assert next_step(evidence) is None
