"""Windows of a group, worked out by hand from its sampling and debounce."""

from __future__ import annotations

import pytest

from retrofit.plan.model import GroupPlan
from retrofit.proving.expected import expected_of
from retrofit.proving.windows import KEY_UP_US, Windows, windows_of
from retrofit.survey.wishes import DebounceFamily
from retrofit.timing.choose import ContactBounce
from retrofit.timing.debounce import Debounce
from retrofit.timing.latency import EventPath
from tests.proving.plans import small_plan


def group(debounce: Debounce, bounce: ContactBounce | None = None) -> GroupPlan:
    """A group that is sampled each millisecond, up to 20 us late, with messages of 960 us."""
    return GroupPlan(
        id="g",
        name="g",
        interface="",
        period_us=1000,
        divider_log2=0,
        phase=0,
        busy_us=0,
        debounce=debounce,
        press_latency_us_max=3000,
        release_latency_us_max=3000,
        path=EventPath(1000, 10, 10, jitter_us=20, message_us=960),
        bounce=bounce,
    )


def test_a_first_edge_is_said_again_after_its_hold_off() -> None:
    """With a hold-off of 30 ms and a bounce of 10 ms, a bounce can come back 40.98 ms after the off."""
    windows = windows_of(group(Debounce(DebounceFamily.FIRST_EDGE, hold=30), ContactBounce(measured_ms=10)))
    assert windows == Windows(40_980, 3_960, cycle_us=60_000, grid_us=1_980, burst_us=2_940)


@pytest.mark.parametrize(
    ("bounce", "retrigger_us"),
    [
        (None, KEY_UP_US),
        (ContactBounce(kind_max_ms=2), KEY_UP_US),
        (ContactBounce(measured_ms=40, kind_max_ms=2), 42_980),
    ],
)
def test_counted_samples_come_back_after_the_press_count(bounce: ContactBounce | None, retrigger_us: int) -> None:
    """Two samples, the longest known bounce, 20 us and a message; never less than the quickest finger."""
    windows = windows_of(group(Debounce(DebounceFamily.ASYMMETRIC, press=2, release=9), bounce))
    assert (windows.retrigger_us, windows.cycle_us) == (retrigger_us, 11_000)


def test_company_never_reaches_to_the_next_stroke() -> None:
    """Every group of a plan has windows, and what is taken for one instant is shorter than any stroke."""
    expected = expected_of(small_plan())
    assert {point.group for point in expected.contacts} <= set(expected.windows)
    assert all(windows.instant_us < windows.retrigger_us for windows in expected.windows.values())
