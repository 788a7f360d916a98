"""Our own supply: stages of first power, pull-ups, branches, and the rail while it is dead."""

from __future__ import annotations

import pytest

from retrofit.circuits.sense.design import Verdict
from retrofit.plan.model import ConversionPlan
from retrofit.plan.sensing.model import BoardState, PowerPlan
from retrofit.plan.sensing.power import into_dead_rail_amps
from tests.plan.jobs import DIVIDER, GREAT, HEAD, ORGANS, OURS, keys, plan_of


def _power(plan: ConversionPlan) -> PowerPlan:
    assert plan.power is not None
    return plan.power


def test_boards_are_fitted_one_by_one() -> None:
    """The controller comes first, then each group on the chain; no stage expects less than the one before."""
    other = keys().replace('id = "great"', 'id = "choir"', 1)
    stages = _power(plan_of(HEAD + GREAT + keys() + OURS + other + OURS)).stages
    assert [stage.name for stage in stages] == ["controller", "great", "choir"]
    greatest = [stage.expected_ma.greatest for stage in stages]
    assert greatest == sorted(greatest)
    assert all(stage.switch_off_ma > stage.expected_ma.greatest for stage in stages)


def test_every_closed_contact_of_ours_draws_through_its_pull_up() -> None:
    """Thirteen pull-ups of 10 kΩ less 5 % at 5.5 V take 7.53 mA by Ohm's law, on top of the last stage."""
    power = _power(plan_of(HEAD + GREAT + keys() + OURS))
    assert power.greatest_ma - power.stages[-1].expected_ma.greatest == pytest.approx(13 * 5.5 / 9.5, rel=1e-6)


def test_a_divider_has_no_pull_up() -> None:
    """Taps on the organ's lines add nothing to our supply when keys are held."""
    power = _power(plan_of(HEAD + GREAT + keys() + ORGANS + DIVIDER))
    assert power.greatest_ma == pytest.approx(power.stages[-1].expected_ma.greatest)


def test_lines_of_ours_leave_a_dead_rail_dead() -> None:
    """Where nothing of the organ's is tapped no bleeder is wanted."""
    power = _power(plan_of(HEAD + GREAT + keys() + OURS))
    assert (power.dead_rail, power.bleeder) == (None, None)


def test_held_lines_that_wake_a_dead_rail_want_a_bleeder() -> None:
    """The bleeder holds the rail below half a volt with every line held, by Ohm's law on what they feed."""
    plan = plan_of(HEAD + GREAT + keys(61) + ORGANS + DIVIDER)
    power, sensed = _power(plan), plan.sensing[0]
    fed_ma = next(state.group_ma for state in sensed.feels if state.state is BoardState.OFF)
    assert fed_ma is not None
    assert into_dead_rail_amps(sensed) == pytest.approx(fed_ma / 1e3)
    assert power.dead_rail is not None
    assert power.dead_rail.verdict is Verdict.UNKNOWN
    assert power.bleeder is not None
    assert power.bleeder.part.value * 1.05 * fed_ma / 1e3 <= 0.5
    assert power.bleeder.dead.passes


def test_an_isolated_circuit_feeds_nothing_into_our_rail() -> None:
    """An optocoupler takes its current from the line and gives none of it to our side."""
    plan = plan_of(HEAD + GREAT + keys(61) + ORGANS + '[groups.wanted]\nsense = "optocoupler"\n')
    assert into_dead_rail_amps(plan.sensing[0]) == 0.0
    assert _power(plan).bleeder is None


@pytest.mark.parametrize(("wire", "area_mm2"), [("wire_awg = 24\n", 0.205), ('wire_area = "0,22 mm2"\n', 0.22)])
def test_a_branch_keeps_the_wire_that_is_there(wire: str, area_mm2: float) -> None:
    """ASTM B258: number 24 is 0.205 mm² of copper; a wire given by its area is taken as it is."""
    branch = _power(plan_of(HEAD + GREAT + keys() + OURS + wire)).branches[0].branch
    assert branch is not None
    assert branch.area_mm2 == pytest.approx(area_mm2, rel=2e-3)
    assert {judged.verdict for judged in branch.judged} == {Verdict.GOOD}


def test_a_branch_without_wire_gets_one_and_an_unread_length_stays_unknown() -> None:
    """The fuse protects the wire that is chosen; without a length the drop is unknown."""
    unread = OURS.replace('cable_length = "1,0 m"\n', "")
    branch = _power(plan_of(HEAD + GREAT + keys() + unread)).branches[0].branch
    assert branch is not None
    assert Verdict.UNKNOWN in {judged.verdict for judged in branch.judged}
    assert branch.gauge is not None
