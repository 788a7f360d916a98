"""Readings that cannot be: each kind is made to happen, and nothing is concluded from any of them."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from retrofit.circuits.line.classes import SIGNATURES
from retrofit.circuits.line.classify import Confidence, candidates, classify
from retrofit.circuits.line.contradictions import contradictions
from retrofit.circuits.line.evidence import Evidence, Structure, Taken
from retrofit.circuits.line.features import features
from retrofit.circuits.line.next_reading import MOVED_SHARE, may_load, next_step, next_steps
from retrofit.survey.readings import Load, State


def idle(volts: float, load: Load = Load.METER, ac: float | None = 0.001) -> Taken:
    """Return an idle reading with 1 % and two millivolts of error."""
    return Taken(State.IDLE, load, volts, 0.01 * abs(volts) + 0.002, ac)


def keyed(volts: float, load: Load = Load.METER, ac: float | None = 0.001) -> Taken:
    """Return a keyed reading."""
    return Taken(State.KEYED, load, volts, 0.01 * abs(volts) + 0.002, ac)


SOUND = Evidence((idle(0.01), keyed(12.2)), supply_volts=12.4)

IMPOSSIBLE = {
    "overload-in-volts": Evidence((Taken(State.IDLE, Load.METER, None, overload=True),)),
    "load-before-meter": Evidence((idle(3.0, Load.MEGOHM),)),
    "idle-equals-keyed": Evidence((idle(12.2), keyed(12.25))),
    "nothing-on-the-line": Evidence(
        (idle(0.0), keyed(0.0)), Structure(diode_forward_volts=0.0, diode_reverse_volts=0.0)
    ),
    "short-with-volts": Evidence((idle(3.0), keyed(12.0)), Structure(line_to_return_ohms=0.2)),
    "load-raises-volts": Evidence((idle(5.0), idle(7.5, Load.MEGOHM))),
    "swapped-polarity": Evidence((idle(-12.0), idle(11.5, Load.MEGOHM))),
    "thousandfold": Evidence((idle(0.012), idle(11.5, Load.MEGOHM))),
}


@pytest.mark.parametrize("code", IMPOSSIBLE)
def test_each_impossible_reading_is_named_and_nothing_is_concluded(code: str) -> None:
    """The contradiction stands with its figures; there is no class, and the next thing is to put it right."""
    said = classify(IMPOSSIBLE[code])

    assert code in [found.code for found in said.contradictions]
    assert said.named is None
    assert said.confidence is Confidence.CONTRADICTED
    assert next_steps(IMPOSSIBLE[code]) == ()


def test_sound_readings_contradict_nothing() -> None:
    """12.2 V keyed and nothing idle on a supply of 12.4 V is as it should be."""
    assert contradictions(SOUND) == ()


@pytest.mark.parametrize(
    ("volts", "supply", "code"),
    [
        (0.0122, 12.4, "thousandfold"),
        (12400.0, 12.4, "thousandfold"),
        (-12.2, 12.4, "swapped-polarity"),
        (12.2, -12.4, "swapped-polarity"),
    ],
)
def test_the_supply_shows_mistyped_units_and_exchanged_clips(volts: float, supply: float, code: str) -> None:
    """12 mV for 12 V, 12 kV for 12 V, and minus for plus."""
    found = contradictions(Evidence((idle(0.0), keyed(volts)), supply_volts=supply))

    assert code in [one.code for one in found]


def test_a_bias_may_have_the_other_sign() -> None:
    """-12 V idle beside a bus of +12.4 V is a biased gate and no mistake."""
    assert contradictions(Evidence((idle(-12.0), keyed(0.0)), supply_volts=12.4)) == ()


def test_a_reading_taken_again_counts_in_place_of_the_first() -> None:
    """An overload and a typing slip are forgiven once the same reading was taken rightly."""
    again = Evidence((Taken(State.KEYED, Load.METER, None, overload=True), *SOUND.taken), supply_volts=12.4)

    assert contradictions(again) == ()


def test_millivolts_without_any_ac_are_asked_about() -> None:
    """A key that moves a silent line by 12 mV of DC probably moved it by 12 V."""
    found = contradictions(Evidence((idle(0.0), keyed(0.0124))))

    assert [one.code for one in found] == ["thousandfold"]
    assert "was 12.4 V meant?" in found[0].words


def test_millivolts_with_audio_are_audio() -> None:
    """The same DC beside 80 mV of AC is no mistake."""
    assert contradictions(Evidence((idle(0.0, ac=0.0), keyed(0.0124, ac=0.08)))) == ()


def test_a_negative_source_resistance_is_said_with_both_figures() -> None:
    """The sentence holds what was read without and with the load."""
    (found,) = contradictions(IMPOSSIBLE["load-raises-volts"])

    assert "7.5 V" in found.words
    assert "5 V" in found.words
    assert "below zero" in found.words


ANY_VOLTS = st.one_of(st.just(0.0), st.floats(-30, 30), st.sampled_from([-15.0, 0.6, 2.5, 12.0]))
ANY_OHMS = st.sampled_from([None, 0.3, 15.0, 55.0, 120.0, 3e3, 47e3, 220e3, float("inf")])
ANY_ANSWER = st.sampled_from([None, True, False])
STRUCTURES = st.builds(
    Structure,
    bus_to_supply_ohms=ANY_OHMS,
    line_to_return_ohms=ANY_OHMS,
    line_to_supply_ohms=ANY_OHMS,
    series_ohms=ANY_OHMS,
    leaves=st.sampled_from([None, 1, 3]),
    fall_time_s=st.sampled_from([None, 0.002, 0.4]),
    frequency_hz=st.sampled_from([None, 0.0, 6.0, 100.0, 900.0]),
    sweeps=ANY_ANSWER,
    moves_by_itself=ANY_ANSWER,
)


@st.composite
def readings(draw: st.DrawFn) -> Evidence:
    """Return any readings at all, with falling volts under heavier loads, as on a real line."""
    taken = []
    for state in State:
        volts, kept = draw(ANY_VOLTS), 1.0
        for load in list(Load)[: draw(st.integers(0, 4))]:
            ac = draw(st.sampled_from([None, 0.0, 0.1, 1.0, 6.0, 60.0])) if load is Load.METER else None
            taken.append(Taken(state, load, volts * kept, 0.01 * abs(volts * kept) + 0.002, ac))
            kept *= draw(st.sampled_from([1.0, 0.99, 0.95, 0.8, 0.3, 0.0]))
    return Evidence(tuple(taken), draw(STRUCTURES))


@settings(max_examples=400, deadline=None)
@given(readings())
def test_no_proposed_load_is_forbidden_by_any_class_that_is_still_possible(evidence: Evidence) -> None:
    """Whatever was read, a resistor is only proposed where every class left may meet it, and never before its turn."""
    left = candidates(features(evidence))
    for step in next_steps(evidence):
        if step.state is None or step.load is None or step.load is Load.METER:
            continue
        assert left
        assert not any(step.load in SIGNATURES[line_class].forbidden for line_class in left)
        if step.load is Load.TEN_KILOHM:
            moved = evidence.moved_share(step.state, Load.HUNDRED_KILOHM)
            assert moved is not None
            assert moved < MOVED_SHARE
        if step.load is Load.TO_SUPPLY:
            assert {line_class.name for line_class in left} == {"RETURN"}


def test_ten_kilohm_waits_for_a_hundred() -> None:
    """Before the 100 kΩ reading, and after one that moved the line by a fifth, 10 kΩ is refused."""
    structure = Structure(
        bus_to_supply_ohms=0.4,
        line_to_return_ohms=5e3,
        line_to_supply_ohms=100.0,
        series_ohms=0.5,
        leaves=1,
        fall_time_s=0.003,
    )
    taken = (idle(12.0), keyed(0.0), idle(12.0, Load.MEGOHM))
    before = Evidence(taken, structure)
    stiff = Evidence((*taken, idle(11.9, Load.HUNDRED_KILOHM)), structure)
    soft = Evidence((*taken, idle(9.6, Load.HUNDRED_KILOHM)), structure)

    assert not may_load(before, State.IDLE, Load.TEN_KILOHM)
    assert may_load(stiff, State.IDLE, Load.TEN_KILOHM)
    assert not may_load(soft, State.IDLE, Load.TEN_KILOHM)


def test_a_refused_step_is_not_asked_again() -> None:
    """Whoever cannot read something gets the next thing instead."""
    first = next_step(SOUND)
    assert first is not None

    assert next_step(SOUND, refused=[first]) not in (None, first)
