"""Choosing a sense circuit: order of the permitted, wishes, refusals, and equal lines worked out once."""

from __future__ import annotations

from dataclasses import replace

import pytest

from retrofit.circuits.result import Result
from retrofit.circuits.sense.design import Felt, Judged, Part, SenseDesign, Verdict
from retrofit.plan.sensing import groups
from retrofit.plan.sensing.candidates import Candidate
from retrofit.plan.sensing.choose import (
    FEEDS,
    choose,
    deciding,
    load_ua,
    permitted_on_the_organs,
    ranked,
    reasons_against,
)
from retrofit.survey.wishes import Sense
from tests.plan.jobs import DIVIDER, GREAT, HEAD, ORGANS, OURS, SOFT, job_of, keys, plan_of

PART = Part("in series with the line", "resistor", 1e6, "Ω", 0.01)


def _figure(value: float, good_from: float = 0.0) -> Judged:
    return Judged("a figure", Result(value, 10.0, "V", at_least=False, corner="there is one"), good_from=good_from)


def _design(
    name: str, *, value: float | None = 1.0, ua: float | None = 1.0, parts: int = 1, refusals: tuple[str, ...] = ()
) -> SenseDesign:
    judged = Judged("a figure", None, "a reading") if value is None else _figure(value)
    felt = Felt(ua, ua, ua, ua, ua, ua)
    return SenseDesign(name, True, True, (PART,) * parts, (judged,), felt, refusals=refusals)


def _names(found: tuple[Candidate, ...]) -> list[str]:
    return [candidate.design.circuit for candidate in found]


def test_permitted_circuits_are_ranked_by_verdict_then_load_then_parts() -> None:
    """Failing last, before them sensors at every key, then doubtful, then sound; equal verdicts by load and parts."""
    found = [
        Candidate(Sense.DIVIDER, _design("fails", value=11.0)),
        Candidate(Sense.SENSOR, _design("sensor", ua=0.0)),
        Candidate(Sense.DIVIDER, _design("unknown", value=None)),
        Candidate(Sense.DIVIDER, _design("heavy", ua=9.0)),
        Candidate(Sense.DIVIDER, _design("light, many parts", parts=3)),
        Candidate(Sense.DIVIDER, _design("light")),
        Candidate(Sense.DIVIDER, _design("refused", refusals=("never",))),
    ]
    assert _names(ranked(found)) == ["light", "light, many parts", "heavy", "unknown", "sensor", "fails"]


def test_the_load_is_the_greater_current_and_without_end_while_unknown() -> None:
    """A current that nobody could compute ranks behind every known one."""
    assert load_ua(replace(_design("x"), felt=Felt(-7.0, 3.0, 0.0, 0.0, 0.0, 0.0))) == 7.0
    assert load_ua(_design("x", ua=None)) == float("inf")


def test_the_deciding_figure_is_of_the_worst_verdict() -> None:
    """A narrow figure decides before a good one that has less margin in percent."""
    good, narrow = _figure(9.5), _figure(9.0, good_from=5.0)
    assert (good.verdict, narrow.verdict) == (Verdict.GOOD, Verdict.NARROW)
    assert deciding(replace(_design("x"), judged=(good, narrow))) is narrow
    assert deciding(_design("x", value=None)) is None


def test_a_circuit_that_could_feed_is_refused_on_a_line_of_the_organ() -> None:
    """Only circuits that look are permitted on lines that the organ owns; a refusal that stands is kept."""
    feeding = replace(_design("feeds"), looks_only=False)
    assert permitted_on_the_organs(Candidate(Sense.PULL_UP, feeding)).design.refusals == (FEEDS,)
    refused = replace(feeding, refusals=("sound",))
    assert permitted_on_the_organs(Candidate(Sense.PULL_UP, refused)).design.refusals == ("sound",)


def test_a_wish_is_followed_when_permitted_and_else_said() -> None:
    """A permitted wish is taken though it is not the best; one that is not permitted gives way with words."""
    best, second = Candidate(Sense.DIVIDER, _design("best")), Candidate(Sense.OPTOCOUPLER, _design("second", ua=5.0))
    assert choose((best, second), Sense.OPTOCOUPLER) == (second.design, "")
    chosen, said = choose((best,), Sense.OPTOCOUPLER)
    assert chosen is best.design
    assert "optocoupler" in said


@pytest.mark.parametrize("unfit", [_design("fails", value=11.0), replace(_design("no parts"), parts=())])
def test_nothing_unfit_is_chosen_unasked(unfit: SenseDesign) -> None:
    """A circuit that breaks a limit, or that was not worked out to its parts, is only taken when wished."""
    assert choose((Candidate(Sense.DIVIDER, unfit),), Sense.UNKNOWN) == (None, "")
    assert choose((Candidate(Sense.DIVIDER, unfit),), Sense.DIVIDER) == (unfit, "")


def test_sensors_at_every_key_are_never_chosen_unasked() -> None:
    """Fitting a sensor at every key is the owner's decision; wished, it is followed."""
    sensor = Candidate(Sense.SENSOR, _design("sensor"))
    assert choose((sensor,), Sense.UNKNOWN) == (None, "")
    assert choose((sensor,), Sense.SENSOR) == (sensor.design, "")


def test_reasons_against_a_wish_are_each_said_once() -> None:
    """The reasons of every form of the wished circuit are joined, without repeats and without those of others."""
    found = [
        Candidate(Sense.DIVIDER, _design("a", refusals=("audio", "kick"))),
        Candidate(Sense.DIVIDER, _design("b", refusals=("audio",))),
        Candidate(Sense.OPTOCOUPLER, _design("c", refusals=("ripple",))),
    ]
    assert reasons_against(Sense.DIVIDER, found) == "audio; kick"


def test_a_line_that_was_read_gets_a_circuit_and_its_level() -> None:
    """Without a wish the tool chooses: no finding asks for a choice, and the level at the input is settled."""
    plan = plan_of(HEAD + GREAT + keys() + ORGANS)
    assert not {"sense-not-chosen", "polarity-unknown"} & {finding.rule for finding in plan.findings}
    chosen = plan.sensing[0].chosen
    assert chosen is not None
    lane = plan.layout.lanes[0]
    assert bool(lane.invert & 1) is (chosen.keyed_reads_high is False)


def test_the_level_at_the_input_follows_the_circuit_that_was_chosen() -> None:
    """A comparator reads the other way round than a divider on the same line, and the firmware's table with it."""
    inverted, digests = [], set()
    for sense in ("divider", "comparator"):
        plan = plan_of(HEAD + GREAT + keys() + ORGANS + f'[groups.wanted]\nsense = "{sense}"\n')
        inverted.append(plan.layout.lanes[0].invert & 1)
        digests.add(plan.digest)
        assert plan.sensing[0].wish_refused == ""
    assert inverted == [0, 1]
    assert len(digests) == 2


def test_what_the_job_states_goes_before_what_a_circuit_gives() -> None:
    """A stated level wins over the circuit's, and the contradiction is said."""
    plan = plan_of(HEAD + GREAT + keys() + ORGANS + DIVIDER + "keyed_reads_high = false\n")
    assert plan.layout.lanes[0].invert & 1
    assert "polarity-contradicts-readings" in {finding.rule for finding in plan.findings}


def test_lines_of_ours_get_a_contact_with_pull_up() -> None:
    """Nothing is asked of contacts that are ours: a pull-up, no tap, nothing that the organ could feel."""
    sensed = plan_of(HEAD + GREAT + keys() + OURS).sensing[0]
    assert sensed.chosen is not None
    assert sensed.chosen.circuit == "contact with pull-up"
    assert (sensed.tap, sensed.feels) == ((), ())


def test_lines_whose_owner_is_unknown_get_no_circuit() -> None:
    """Nothing is worked out for lines of which nobody knows who feeds them."""
    sensed = plan_of(HEAD + GREAT + keys()).sensing[0]
    assert (sensed.chosen, sensed.ranked, sensed.refused, sensed.verdict) == (None, (), (), Verdict.UNKNOWN)


def test_equal_lines_are_worked_out_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Five manuals with one kind of line cost no more than one."""
    worked = []

    def counted(*given: object) -> tuple[Candidate, ...]:
        worked.append(given)
        return ()

    monkeypatch.setattr(groups, "candidates", counted)
    manuals = "".join(keys().replace('id = "great"', f'id = "m{n}"', 1) + SOFT for n in range(5))
    plan = plan_of(HEAD + GREAT + manuals)
    assert len(plan.sensing) == 5
    assert len(worked) == 1


def test_a_job_that_names_no_board_has_no_sensing() -> None:
    """Without the input behind it no circuit can be worked out."""
    assert plan_of(HEAD + '[wanted]\nboard = "abacus"\n' + GREAT + keys() + ORGANS).sensing == ()


def test_a_group_of_shoes_on_the_converter_has_no_sense_circuit() -> None:
    """Only contacts get a sense circuit."""
    shoes = '[[groups]]\nid = "s"\nkind = "shoes"\ndivision = "great"\npoints = [{ id = "a", sensor = "ldr" }]\n'
    assert [sensed.group for sensed in plan_of(HEAD + GREAT + keys() + OURS + shoes + OURS).sensing] == ["great"]


def test_a_current_that_was_read_goes_before_one_worked_out() -> None:
    """The organ's own load is known from its reading, at the least that the meter's error allows."""
    job = job_of(HEAD + GREAT + keys() + ORGANS.replace("contact =", 'keyed_current = "2 mA"\ncontact =', 1))
    assert job.groups[0].wiring.keyed_current.value == pytest.approx(2e-3)
    line = (
        plan_of(HEAD + GREAT + keys() + ORGANS.replace("contact =", 'keyed_current = "2 mA"\ncontact =', 1))
        .sensing[0]
        .line
    )
    assert line.keyed_amps == pytest.approx(2e-3 * 0.99)


SHOE = '[[groups]]\nid = "s"\nkind = "shoes"\ndivision = "great"\npoints = [{ id = "a", sensor = "potentiometer" }]\n'
WIPER = '[groups.wiring]\nowner = "organ"\ncarries_audio = false\n'
ENDS = 'idle = { volts = "1,0 V", source = "5k" }\nkeyed = { volts = "9,0 V", source = "5k" }\n'


def test_a_shoe_of_the_organ_is_read_through_a_buffer() -> None:
    """A converter's own clamps never meet a wiper that the organ owns: ten megohms and a buffer stand between."""
    sensed = plan_of(HEAD + GREAT + SHOE + WIPER + ENDS).sensing[0]
    assert sensed.chosen is not None
    assert sensed.chosen.circuit == "high-impedance buffer to a converter"
    assert load_ua(sensed.chosen) < 1.0
    assert sensed.tap == ()


def test_a_shoe_of_the_organ_that_was_not_read_asks_for_its_readings() -> None:
    """Without the volts of both ends nothing is chosen, and that stops the build."""
    plan = plan_of(HEAD + GREAT + SHOE + WIPER)
    assert plan.sensing[0].chosen is None
    assert "sense-not-chosen" in {finding.rule for finding in plan.errors}


def test_a_shoe_that_carries_audio_is_left_alone() -> None:
    """No buffer on a potentiometer through which the sound goes."""
    plan = plan_of(HEAD + GREAT + SHOE + WIPER.replace("false", "true") + ENDS)
    assert "no-circuit-permitted" in {finding.rule for finding in plan.errors}
