"""Shoes of 14 bits and ladders in a plan: what is refused with which figures, what is promised, and what is sent."""

from __future__ import annotations

import pytest

from retrofit.papers.message_list import message_list_csv
from retrofit.plan.model import ConversionPlan, GroupPlan
from retrofit.plan.timing_report import timing_report
from tests.plan.jobs import FINE_POT, POT, ladder, plan_of, shoes

SLOW = "[wanted]\nshoe_interval_ms = 20\n"


def said(plan: ConversionPlan, rule: str) -> list[str]:
    """Return what a rule says was found."""
    return [finding.found for finding in plan.findings if finding.rule == rule]


def group(plan: ConversionPlan) -> GroupPlan:
    """Return the one group of a plan."""
    (found,) = plan.groups
    return found


def test_a_quiet_shoe_may_send_14_bits_and_the_plan_says_how_fine_it_is() -> None:
    """0.9 of 1023 counts over one count of noise: 920 true steps, 9.8 bits."""
    plan = plan_of(shoes(f'id = "swell", {FINE_POT}'))
    assert plan.errors == ()
    assert "swell has 920 true steps, that is 9.8 bits, and sends a pair of controllers of 14 bits." in (
        group(plan).guarantees
    )


@pytest.mark.parametrize(
    ("point", "words"),
    [
        (
            f"{POT}, noise_counts = 2, bits = 14",
            "its 921 counts of travel over 2 counts of noise, one at least, are 460",
        ),
        (f"{POT}, bits = 14", "and the shoe's noise is not known"),
        ('sensor = "potentiometer", noise_counts = 1, bits = 14', "an end of the shoe's travel is not known"),
        ('sensor = "steps", stages = 8, bits = 14', "a shoe of sensor steps, which has a few positions"),
    ],
)
def test_14_bits_without_the_steps_are_refused_with_figures(point: str, words: str) -> None:
    """Too much noise, an unknown noise or end, and a stepped shoe cannot fill 14 bits."""
    (found,) = said(plan_of(shoes(f'id = "swell", {point}')), "shoe-not-so-fine")
    assert words in found


def test_the_fine_half_is_nobody_elses() -> None:
    """The second shoe of 14 bits takes a controller whose fine half is free as well, and no clash is found."""
    plan = plan_of(shoes(f'id = "swell", {FINE_POT}', f'id = "choir", {FINE_POT}', f'id = "solo", {POT}'))
    sent = [(point.shoe.controller, point.shoe.bits) for point in plan.points if point.shoe]
    assert sent == [(11, 14), (16, 14), (17, 7)]
    assert said(plan, "message-sent-twice") == []


def test_a_wish_on_the_fine_half_of_another_is_a_clash() -> None:
    """Controller 43 belongs to the fine half of controller 11."""
    plan = plan_of(shoes(f'id = "swell", {FINE_POT}', f'id = "choir", {POT}, message = {{ controller = 43 }}'))
    assert len(said(plan, "message-sent-twice")) == 1


@pytest.mark.parametrize(
    ("count", "wanted", "found"),
    [(1, "", []), (2, "", []), (3, "", ["58 %"]), (3, SLOW, [])],
)
def test_moving_shoes_of_14_bits_crowd_the_wire(count: int, wanted: str, found: list[str]) -> None:
    """One pair every 10 ms is 19.2 % of the wire (6 bytes of 320 µs), three are 58 %: too much, but for 20 ms apart."""
    names = ("swell", "choir", "solo")[:count]
    plan = plan_of(shoes(*(f'id = "{name}", {FINE_POT}' for name in names), wanted=wanted))
    words = said(plan, "shoes-crowd-the-wire")
    assert len(words) == len(found)
    assert all(share in text for share, text in zip(found, words, strict=True))


def test_the_timing_report_counts_both_halves() -> None:
    """One shoe of 14 bits moving sends two messages of three bytes each, five bytes with running status."""
    report = timing_report(plan_of(shoes(f'id = "swell", {FINE_POT}')))
    (burst,) = (burst for burst in report.bursts if burst.scenario.id == "shoes")
    assert (burst.time.messages, burst.time.bytes) == (2, 5)
    plain = timing_report(plan_of(shoes(f'id = "swell", {FINE_POT}', wanted="[wanted]\nrunning_status = false\n")))
    (burst,) = (burst for burst in plain.bursts if burst.scenario.id == "shoes")
    assert burst.time.bytes == 6
    assert burst.share == pytest.approx(0.192)


def test_the_message_list_names_both_halves() -> None:
    """The papers say in words and in bytes that a pair is sent, and which number carries what."""
    text = message_list_csv(plan_of(shoes(f'id = "swell", {FINE_POT}')))
    assert "upper 7 bits of a value 0 to 16383, then 43, its lower 7 bits; 43 alone while the upper ones stay" in text
    assert "B0 0B 00..7F then B0 2B 00..7F" in text


def test_which_breaks_are_seen_is_promised() -> None:
    """Ends at 0.05 and 0.95 leave room on both sides; an end at 0 leaves none, and unmeasured ends tell nothing."""
    assert any("below 0.020 or above 0.980" in words for words in group(plan_of(shoes(f'id = "a", {POT}'))).guarantees)
    at_zero = 'sensor = "potentiometer", closed_reading = 0.0, open_reading = 0.5'
    (words,) = (w for w in group(plan_of(shoes(f'id = "a", {at_zero}'))).guarantees if w.startswith("A reading"))
    assert "above 0.530 of full scale" in words
    assert "below" not in words
    unknown = group(plan_of(shoes('id = "a", sensor = "potentiometer"'))).guarantees
    assert any("because the ends of its travel are not measured" in words for words in unknown)


def test_a_ladder_waits_for_readings_that_agree() -> None:
    """Ten milliseconds of agreeing readings come on top of the converter's turn and the interval."""
    plain, stepped = (group(plan_of(shoes(text))) for text in (f'id = "swell", {POT}', ladder()))
    added = stepped.press_latency_us_max - plain.press_latency_us_max
    assert 10_000 <= round(added) < 10_000 + stepped.period_us
    assert plan_of(shoes(ladder())).errors == ()


def test_overlapping_stages_are_refused_with_figures_and_a_resistor() -> None:
    """Twelve contacts with 5 % overlap; the readings, the counts and the best resistor of series E24 are said."""
    plan = plan_of(shoes(ladder(rest='to_supply = "4k7", tolerance = 0.05')))
    findings = [finding for finding in plan.findings if finding.rule == "ladder-stages-overlap"]
    assert min(float(f.found.split(", ")[1].split(" ")[0]) for f in findings) == pytest.approx(
        -76.9 / 3300 * 1024, abs=0.1
    )
    assert "4 counts of the 10-bit converter" in findings[0].allowed
    assert "Ω to the supply parts these stages best" in findings[0].remedy
    assert findings[0] in plan.errors


def test_measured_stages_settle_what_tolerances_leave_open() -> None:
    """With the reading of each position written down, the same ladder is told apart."""
    readings = ", ".join(f"{left / (left + 4.7):.4f}" for left in range(12, -1, -1))
    plan = plan_of(shoes(ladder(rest=f"stage_readings = [{readings}]")))
    assert said(plan, "ladder-stages-overlap") == []
    assert plan.errors == ()
