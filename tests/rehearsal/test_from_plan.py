"""What of a plan is simulated, and what is left out with its reason."""

from __future__ import annotations

from dataclasses import replace
from importlib.resources import files

from retrofit.catalogue.load import load_catalogue
from retrofit.plan.build import plan_conversion
from retrofit.plan.model import ConversionPlan
from retrofit.rehearsal.bounce import EvenBounce, RecordedBounce
from retrofit.rehearsal.from_plan import simulated_groups
from retrofit.rehearsal.simulation import simulate
from retrofit.survey.load import parse_job


def theatre() -> ConversionPlan:
    """Return the plan of the demo that only listens."""
    text = files("retrofit.demo").joinpath("theatre.toml").read_text(encoding="utf-8")
    return plan_conversion(parse_job(text, "theatre"), load_catalogue())


def test_every_group_is_simulated_or_named() -> None:
    """No group of the plan is silently missing, and unknown bounce is not made up."""
    plan = theatre()
    groups, left_out = simulated_groups(plan, {})
    assert sorted([*(group.id for group in groups), *(one.group for one in left_out)]) == sorted(
        g.id for g in plan.groups
    )
    why = {one.group: one.why for one in left_out}
    assert why["studs"].startswith("its bounce is unknown")
    assert why["shoes"] == "it is read by the converter and has no contacts"


def test_an_assumed_bounce_stands_in_only_for_an_unknown_one() -> None:
    """Where a bounce is known the assumption changes nothing."""
    plan = theatre()
    known = {group.id: group.bounce for group in simulated_groups(plan, {})[0]}
    assumed = {group.id: group.bounce for group in simulated_groups(plan, {}, 3_000)[0]}
    assert assumed == {**known, "studs": EvenBounce(3_000)}


def test_a_recording_goes_first() -> None:
    """A group's own recording before that for every group, and both before what the job says."""
    mine, every = RecordedBounce(((1.0, 2.0),)), RecordedBounce(((3.0, 4.0),))
    found = {group.id: group.bounce for group in simulated_groups(theatre(), {"great": mine, "*": every})[0]}
    assert (found["great"], found["solo"], found["studs"]) == (mine, every, every)


def test_gaps_of_a_supply_and_empty_groups_are_left_out() -> None:
    """A group whose supply has gaps is named and not simulated as if it had none; so is one without contacts."""
    plan = theatre()
    gapped = replace(plan, groups=tuple(replace(group, gap_us=2_520.0) for group in plan.groups))
    assert {one.why for one in simulated_groups(gapped, {})[1]} >= {"the gaps of its supply are not simulated"}
    empty = replace(plan, points=())
    assert {one.why for one in simulated_groups(empty, {})[1]} >= {"no contact of it takes part"}


def test_what_is_simulated_keeps_the_promises_of_the_plan() -> None:
    """No press of either kind is later after its last bounce than the plan's worst case."""
    plan = theatre()
    promised = {group.id: group.press_latency_us_max for group in plan.groups}
    for result in simulate(simulated_groups(plan, {})[0], 30, 2).groups:
        assert result.settled.greatest is not None
        assert result.settled.greatest <= promised[result.id]
