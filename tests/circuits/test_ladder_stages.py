"""A stepped shoe on one converter channel, against a nodal solution and every corner of its resistors."""

from __future__ import annotations

import math
import random
from itertools import pairwise, product
from pathlib import Path

import eseries
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from retrofit.circuits.ladder import worst_gap
from retrofit.circuits.ladder_stages import (
    LadderStage,
    best_to_supply,
    ladder_stages,
    stage_gaps,
    stretches,
    whole_ladder,
)
from retrofit.survey.contacts import StepStyle
from retrofit.survey.ladder import Ladder, LadderForm
from tests.circuits.spice import run_netlist

PROGRESSIVE, SELECTIVE = StepStyle.PROGRESSIVE, StepStyle.SELECTIVE
BITS = 10
VALUES = st.sampled_from(list(eseries.erange(eseries.E24, 100, 10_000)))


def ladder(resistors: list[float], top: float = 4700, tolerance: float = 0.01, form: str = "shorting") -> Ladder:
    """Return a ladder of these resistors."""
    return Ladder.model_validate({"form": form, "resistors": resistors, "to_supply": top, "tolerance": tolerance})


TWELVE = ladder([1000.0] * 12)


def closed(style: StepStyle, position: int) -> list[int]:
    """The contacts that are closed at a position, from 0."""
    if style is PROGRESSIVE:
        return list(range(position))
    return [position - 1] if position else []


def nodal(found: Ladder, style: StepStyle, position: int, resistors: list[float], top: float) -> float:
    """Return the line's level for a supply of 1 V, every node of the network solved as linear equations (numpy).

    Node 0 is the line, the last one our return.  A closed contact is 1 mΩ, an open one nothing at all.
    """
    count = len(resistors)
    ends = list(range(count + 1)) if found.form is LadderForm.SHORTING else [0] * count + [count]
    nodes = count + 1
    system, source = np.zeros((nodes, nodes)), np.zeros(nodes)

    def join(one: int, other: int, ohms: float) -> None:
        for a, b in ((one, other), (other, one)):
            system[a, a] += 1 / ohms
            system[a, b] -= 1 / ohms

    for place, ohms in enumerate(resistors):
        if found.form is LadderForm.JOINING:
            if place in closed(style, position):
                join(0, count, ohms)
            continue
        join(ends[place], ends[place + 1], ohms)
    if found.form is LadderForm.SHORTING:
        for place in closed(style, position):
            join(0 if style is SELECTIVE else ends[place], ends[place + 1], 1e-3)
    system[0, 0] += 1 / top
    source[0] = 1 / top
    inner = [0] if found.form is LadderForm.JOINING else list(range(count))
    return float(np.linalg.solve(system[np.ix_(inner, inner)], source[inner])[0])


def test_twelve_contacts_read_as_worked_out_by_hand() -> None:
    """Twelve times 1 kΩ below 4.7 kΩ at 3.3 V, in volts from all open to all closed."""
    volts = [round(3.3 * stage.usual, 3) for stage in reversed(ladder_stages(TWELVE, PROGRESSIVE))]
    assert volts == [2.371, 2.312, 2.245, 2.168, 2.079, 1.974, 1.85, 1.701, 1.517, 1.286, 0.985, 0.579, 0.0]


@pytest.mark.parametrize(("tolerance", "gap_mv"), [(0.01, 32.0), (0.05, -76.9)])
def test_twelve_contacts_are_told_apart_with_one_per_cent_only(tolerance: float, gap_mv: float) -> None:
    """The least gap at the worst corner, +32.0 mV with 1 % and -76.9 mV with 5 %, and as of equal steps."""
    stages = ladder_stages(ladder([1000.0] * 12, tolerance=tolerance), PROGRESSIVE)
    least = min(stage_gaps(stages, BITS), key=lambda gap: gap.counts)
    assert 1e3 * 3.3 * least.counts / 1024 == pytest.approx(gap_mv, abs=0.1)
    assert least.told_apart is (gap_mv > 0)
    assert 3.3 * least.counts / 1024 == pytest.approx(worst_gap(3.3, 4700, 1000, 12, tolerance)[0])


@settings(max_examples=60, deadline=None)
@given(
    resistors=st.lists(VALUES, min_size=2, max_size=8),
    top=VALUES,
    style=st.sampled_from(StepStyle),
    form=st.sampled_from(LadderForm),
)
def test_levels_are_those_of_the_network(
    resistors: list[float], top: float, style: StepStyle, form: LadderForm
) -> None:
    """Any resistors of series E24, both forms and both styles: each position's level as the nodes are solved."""
    found = ladder(resistors, top, form=form.value)
    usual = {stage.name: stage.usual for stage in ladder_stages(found, style)}
    for position in range(len(resistors) + 1):
        name = f"contact {position}" if position else "no contact"
        assert usual[name] == pytest.approx(nodal(found, style, position, resistors, top), abs=1e-4)


@settings(max_examples=25, deadline=None)
@given(
    resistors=st.lists(VALUES, min_size=2, max_size=4),
    top=VALUES,
    style=st.sampled_from(StepStyle),
    form=st.sampled_from(LadderForm),
    tolerance=st.sampled_from([0.001, 0.01, 0.05]),
)
def test_no_corner_lies_outside_and_the_worst_is_met(
    resistors: list[float], top: float, style: StepStyle, form: LadderForm, tolerance: float
) -> None:
    """Every resistor by itself at either end of its tolerance: the network stays within, and touches both, bounds."""
    found = ladder(resistors, top, tolerance, form.value)
    stages = {stage.name: stage for stage in ladder_stages(found, style)}
    turned = (1 - tolerance, 1 + tolerance)
    for position in range(len(resistors) + 1):
        stage = stages[f"contact {position}" if position else "no contact"]
        corners = [
            nodal(found, style, position, [a * b for a, b in zip(resistors, turns, strict=True)], top * turn)
            for turn, *turns in product(turned, repeat=len(resistors) + 1)
        ]
        assert (min(corners), max(corners)) == pytest.approx((stage.low, stage.high), abs=1e-4)


def test_ngspice_agrees_on_one_ladder(tmp_path: Path) -> None:
    """A ladder of five unequal resistors with two contacts closed, solved by ngspice as a whole."""
    resistors = [820.0, 1200.0, 1800.0, 2700.0, 4700.0]
    string = "".join(f"r{place} n{place} n{place + 1} {ohms:g}\n" for place, ohms in enumerate(resistors))
    shorts = "".join(f"rs{place} n{place} n{place + 1} 1m\n" for place in (0, 1))
    control = ".control\nop\nprint v(n0)\n.endc\n.end\n"
    (found,) = run_netlist(tmp_path, f"ladder\nv1 s 0 5\nrt s n0 3300\n{string}{shorts}rg n5 0 1u\n{control}")
    stages = {stage.name: stage for stage in ladder_stages(ladder(resistors, 3300), PROGRESSIVE)}
    assert found["v(n0)"] == pytest.approx(5 * stages["contact 2"].usual, rel=1e-4)


def part_of(counts: int, parts: tuple[tuple[int, int | None], ...]) -> int | None:
    """Return the value of the stretch in which a reading lies."""
    return next(value for last, value in parts if counts <= last)


@pytest.mark.parametrize("style", list(StepStyle))
@pytest.mark.parametrize("form", list(LadderForm))
def test_every_reading_at_any_corner_is_taken_for_its_own_stage(style: StepStyle, form: LadderForm) -> None:
    """Thousands of ladders with resistors anywhere within 1 %: each position is decoded as itself."""
    resistors = [1000.0] * 8 if form is LadderForm.SHORTING else [10e3, 10e3, 10e3, 8200.0, 6800.0, 4700.0]
    if form is LadderForm.JOINING and style is SELECTIVE:
        resistors = [15e3, 8200.0, 4700.0, 2700.0, 1500.0, 680.0]
    found = ladder(resistors, form=form.value)
    stages = ladder_stages(found, style)
    assert all(gap.told_apart for gap in stage_gaps(stages, BITS))
    parts, values = stretches(stages, BITS), {stage.name: stage.value for stage in stages}
    chance = random.Random(7)
    for _ in range(400):
        made = [ohms * chance.uniform(0.99, 1.01) for ohms in resistors]
        top = 4700 * chance.uniform(0.99, 1.01)
        for position in range(len(resistors) + 1):
            level = nodal(found, style, position, made, top)
            name = f"contact {position}" if position else "no contact"
            assert part_of(round(1023 * level), parts) == values[name]


def test_between_two_contacts_a_selective_shoe_keeps_its_value() -> None:
    """With nothing closed a selective ladder keeps, and a progressive one stands at its closed end."""
    kept = next(stage for stage in ladder_stages(TWELVE, SELECTIVE) if stage.name == "no contact")
    closed_end = next(stage for stage in ladder_stages(TWELVE, PROGRESSIVE) if stage.name == "no contact")
    assert (kept.value, closed_end.value) == (None, 0)


def test_values_are_spread_as_those_of_other_stepped_shoes() -> None:
    """Step k of n is k x 127 / n to the nearest."""
    values = [stage.value for stage in reversed(ladder_stages(TWELVE, PROGRESSIVE))]
    assert values == [round(step * 127 / 12 + 1e-9) for step in range(13)]


def test_contact_resistance_moves_the_worst_reading() -> None:
    """Twelve contacts of 20 Ω in a row add 240 Ω at the greatest corner and nothing at the least."""
    clean, dirty = (ladder_stages(TWELVE, PROGRESSIVE, ohms)[0] for ohms in (0.0, 20.0))
    assert clean.high == 0
    assert dirty.low == 0
    assert dirty.high == pytest.approx(240 / (240 + 4700 * 0.99))


def test_measured_readings_count_more_than_resistors() -> None:
    """Calibrated stages have no tolerance: a ladder of 5 % that overlapped is told apart by what was read."""
    wide = ladder([1000.0] * 12, tolerance=0.05)
    readings = [stage.usual for stage in reversed(ladder_stages(wide, PROGRESSIVE))]
    read = wide.model_copy(update={"stage_readings": tuple(readings)})
    stages = ladder_stages(read, PROGRESSIVE)
    assert all(gap.told_apart for gap in stage_gaps(stages, BITS))
    assert [stage.value for stage in stages] == [stage.value for stage in ladder_stages(wide, PROGRESSIVE)]


def test_noise_narrows_the_gaps() -> None:
    """Noise of 6 counts peak to peak takes 6 counts from every gap."""
    stages = ladder_stages(TWELVE, PROGRESSIVE)
    quiet, noisy = stage_gaps(stages, BITS), stage_gaps(stages, BITS, 6.0)
    assert [a.counts - b.counts for a, b in zip(quiet, noisy, strict=True)] == pytest.approx([6.0] * 12)


def test_measured_selective_stages_have_an_open_reading_of_their_own() -> None:
    """Two contacts read 0.2 and 0.6, and 0.95 with none closed: that stretch keeps the value."""
    found = Ladder(stage_readings=(0.6, 0.2), open_reading=0.95)
    assert [(stage.value, stage.usual) for stage in ladder_stages(found, SELECTIVE)] == [
        (127, 0.2),
        (64, 0.6),
        (None, 0.95),
    ]


@pytest.mark.parametrize("missing", [{"to_supply": "unknown"}, {"tolerance": None}, {"resistors": ("1k", "unknown")}])
def test_what_is_unknown_gives_no_stages(missing: dict[str, object]) -> None:
    """Without one of the resistors or the tolerance nothing is worked out."""
    known = {"resistors": ("1k", "1k"), "to_supply": "4k7", "tolerance": 0.01}
    assert ladder_stages(Ladder.model_validate(known | missing), PROGRESSIVE) == ()


def test_the_proposed_resistor_is_the_best_of_its_series() -> None:
    """No other value of series E24 (eseries) from 100 Ω to 10 kΩ gives a greater least gap."""
    found = ladder([470.0, 680.0, 1000.0, 1500.0, 2200.0, 3300.0], top=1000)
    best = best_to_supply(found, PROGRESSIVE, BITS)
    assert best is not None

    def least(top: float) -> float:
        stages: tuple[LadderStage, ...] = ladder_stages(
            ladder([470.0, 680.0, 1000.0, 1500.0, 2200.0, 3300.0], top), PROGRESSIVE
        )
        return min(gap.counts for gap in stage_gaps(stages, BITS))

    gaps = {top: least(top) for top in eseries.erange(eseries.E24, 100, 10_000)}
    assert math.isclose(best[1], max(gaps.values()))
    assert gaps[best[0]] == pytest.approx(max(gaps.values()))


def test_stretches_rise_and_end_at_full_scale() -> None:
    """Each stretch begins behind the one before it."""
    ends = [last for last, _ in stretches(ladder_stages(TWELVE, PROGRESSIVE), BITS)]
    assert all(lower < upper for lower, upper in pairwise(ends))
    assert ends[-1] == 1023


def test_a_broken_line_of_a_shorting_ladder_is_told_from_its_positions() -> None:
    """The string reads 0.72 of full scale at the most; the bound lies 0.03 above that and its tolerance."""
    low, high = whole_ladder(ladder_stages(TWELVE, PROGRESSIVE))
    assert low == 0
    assert high == pytest.approx(12120 / (12120 + 4653) + 0.03)
