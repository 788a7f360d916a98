"""The sweep of a rehearsed shoe: it trembles as was measured, and the firmware's hysteresis takes that out again."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from random import Random

import pytest

from retrofit.catalogue.load import load_catalogue
from retrofit.cli.rehearse_shoe import accepted, sweep_places, swept
from retrofit.firmware.shoe_curve import shoe_curve
from retrofit.plan.build import plan_conversion
from retrofit.plan.model import ConversionPlan
from retrofit.survey.contacts import ShoePoint, ShoeSensor
from retrofit.survey.load import parse_job
from tests.proving.plans import JOB

SHOE = "shoes.swell"
BITS = 10


def plan(reading: str) -> ConversionPlan:
    """Return the plan of the small console with other words for its shoe's readings."""
    job = JOB.replace('sensor = "potentiometer"', f'sensor = "potentiometer", {reading}')
    return plan_conversion(parse_job(job, "small.toml"), load_catalogue())


def turns(values: list[float]) -> int:
    """Return how often a row of values changes its direction."""
    steps = [after > before for before, after in pairwise(values) if after != before]
    return sum(before != after for before, after in pairwise(steps))


@pytest.mark.parametrize("noise_counts", [0, 3, 12])
@pytest.mark.parametrize("ends", [(0.06, 0.91), (0.93, 0.18)])
def test_noise_within_the_hysteresis_makes_no_turn(noise_counts: int, ends: tuple[float, float]) -> None:
    """A shoe that trembles by what was measured of it goes up once and down once, from end to end."""
    closed, opened = ends
    job = plan(f"closed_reading = {closed}, open_reading = {opened}, noise_counts = {noise_counts}")
    places = swept(job, SHOE, Random(4))
    assert turns(places) == 1
    assert (places[0], max(places), places[-1]) == (0.0, 1.0, 0.0)


def test_a_hysteresis_narrower_than_the_noise_lets_it_through() -> None:
    """The same tremble behind a hysteresis of one count turns again and again: the guard above can fail."""
    shoe = ShoePoint(id="swell", sensor=ShoeSensor.POTENTIOMETER, closed_reading=0.1, open_reading=0.9)
    narrow = replace(shoe_curve(shoe, BITS), hysteresis_counts=1)
    random = Random(4)
    readings = [100 + 800 * place + random.uniform(-6, 6) for place in sweep_places()]
    assert turns([float(counts) for counts in accepted(narrow, readings)]) > 20


def test_a_reading_where_the_value_is_flat_is_taken_as_it_is() -> None:
    """Below the first point of the curve and above the last, hysteresis keeps nobody from the end."""
    shoe = ShoePoint(id="swell", sensor=ShoeSensor.POTENTIOMETER, closed_reading=0.1, open_reading=0.9)
    curve = replace(shoe_curve(shoe, BITS), hysteresis_counts=50)
    first, last = curve.counts[0], curve.counts[-1]
    steps = (first + 30, first, first + 20, first + 60, last - 10, last, last - 20)
    assert list(accepted(curve, steps)) == [first + 30, first, first, first + 60, last - 10, last, last]


def test_a_shoe_whose_noise_is_unknown_does_not_tremble() -> None:
    """Nothing typical is slipped in: the sweep is the same whatever the chance."""
    job = plan("closed_reading = 0.1, open_reading = 0.9")
    assert swept(job, SHOE, Random(1)) == swept(job, SHOE, Random(2))
