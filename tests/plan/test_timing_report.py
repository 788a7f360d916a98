"""The time of a whole plan: parts that add up to what the plan promises, and the wire of its own messages."""

from __future__ import annotations

from dataclasses import replace
from importlib.resources import files

import pytest

from retrofit.catalogue.load import load_catalogue
from retrofit.plan.build import plan_conversion
from retrofit.plan.model import ConversionPlan
from retrofit.plan.timing_report import timing_report
from retrofit.plan.wire_traffic import console_messages
from retrofit.survey.load import parse_job
from retrofit.timing.budget import Part
from tests.plan.jobs import GREAT, HEAD, OURS, keys, plan_of, stops

DEMOS = ("gutted_home", "theatre")


def demo(name: str, midi_out: str = "din") -> ConversionPlan:
    """Return the plan of a demo job that sends by DIN or USB."""
    text = files("retrofit.demo").joinpath(f"{name}.toml").read_text(encoding="utf-8")
    return plan_conversion(
        parse_job(text.replace('midi_out = "din"', f'midi_out = "{midi_out}"'), name), load_catalogue()
    )


@pytest.mark.parametrize("name", DEMOS)
def test_the_parts_add_up_to_the_latency(name: str) -> None:
    """For every group of both demos the parts of the budget sum to the press latency that the plan promises."""
    report = timing_report(demo(name))
    assert report.groups
    for group in report.groups:
        assert group.budget.settled_us == pytest.approx(group.plan.press_latency_us_max)


@pytest.mark.parametrize("name", DEMOS)
def test_every_message_of_the_plan_is_counted(name: str) -> None:
    """Each point that sends stands in the traffic once, under its own kind."""
    plan = demo(name)
    console = console_messages(plan)
    counted = sum(map(len, console.keys)) + len(console.pistons) + len(console.stops) + len(console.shoes)
    assert counted == sum((p.message is not None or p.shoe is not None) and p.point.takes_part for p in plan.points)


def test_unknown_bounce_is_in_no_sum() -> None:
    """A group whose bounce nobody measured has no time from the touch, and no part for it."""
    wiring = OURS.replace('contact = "reed"', "").replace('bounce = "0,6 ms"', "").replace("bounce_strokes = 20", "")
    (group,) = timing_report(plan_of(HEAD + GREAT + keys(13) + wiring)).groups
    assert group.budget.touched_us is None
    assert Part.BOUNCE not in dict(group.budget.all_parts)


def test_repetition_is_said_of_keys_alone() -> None:
    """Nobody trills on a stop."""
    rail = stops('{ id = "a" }, { id = "b" }') + OURS
    great, tabs = timing_report(plan_of(HEAD + GREAT + keys(13) + OURS + rail)).groups
    assert great.repetition is not None
    assert tabs.repetition is None


def test_usb_splits_nothing() -> None:
    """By DIN the theatre's tutti wants more ports; by USB it does not, and the host decides how long a note waits."""
    din, usb = timing_report(demo("theatre")), timing_report(demo("theatre", "usb"))
    assert [one.scenario for one in din.advice] == ["tutti", "tutti-by-channel"]
    assert din.note_wait_us_max is not None
    assert (usb.wire, usb.advice, usb.note_wait_us_max) == ("USB", (), None)


def test_a_scan_that_still_fits_its_tick_is_said_to() -> None:
    """A few contacts that all change are read in time; on a board without such figures nothing is said."""
    plan = plan_of(HEAD + GREAT + keys(8) + OURS)
    assert plan.figures["crowded_late_us"] == 0
    assert "still ends within its tick" in timing_report(plan).crowded
    unknown = {name: value for name, value in plan.figures.items() if not name.startswith("crowded")}
    assert timing_report(replace(plan, figures=unknown)).crowded == ""
