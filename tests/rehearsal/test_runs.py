"""The run-by-run model against the sample-by-sample one: exactly the same events, whatever the trace."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from retrofit.rehearsal.runs import Reported, reported, sampled_runs
from retrofit.survey.wishes import DebounceFamily
from retrofit.timing.debounce import Debounce
from retrofit.timing.samples import Counted, FirstEdge, Integrator
from retrofit.timing.trace import Sampler, events

FIRST_EDGE, ASYMMETRIC, INTEGRATOR = DebounceFamily.FIRST_EDGE, DebounceFamily.ASYMMETRIC, DebounceFamily.INTEGRATOR
GAPS = st.lists(st.integers(0, 9_000), max_size=24).map(lambda gaps: gaps[: len(gaps) // 2 * 2])
TRACES = st.lists(GAPS.map(lambda gaps: [1_000 + sum(gaps[: i + 1]) for i in range(len(gaps))]), min_size=1, max_size=5)
DEBOUNCES = st.one_of(
    st.builds(Debounce, st.just(FIRST_EDGE), hold=st.integers(1, 9)),
    st.builds(Debounce, st.sampled_from((ASYMMETRIC, INTEGRATOR)), press=st.integers(1, 6), release=st.integers(1, 9)),
)
LATE = st.lists(st.integers(0, 400), min_size=260, max_size=260)


def stepped(debounce: Debounce, trace: list[int], times: list[int]) -> list[tuple[int, bool]]:
    """Return the events of one contact, sample by sample, as numbers of samples."""
    return [(times.index(int(time)), on) for time, on in events(model(debounce), trace, times)]


def model(debounce: Debounce) -> Sampler:
    """Return the sample-by-sample model of a debounce."""
    if debounce.family is FIRST_EDGE:
        return FirstEdge(debounce.hold)
    counting = Integrator if debounce.family is INTEGRATOR else Counted
    return counting(debounce.press, debounce.release)


def by_runs(debounce: Debounce, traces: list[list[int]], times: list[int]) -> Reported:
    """Return the events of all contacts at once, from their runs."""
    contact = np.array([c for c, trace in enumerate(traces) for _ in trace], dtype=np.int64)
    edges = np.array([edge for trace in traces for edge in trace], dtype=np.int64)
    return reported(debounce, sampled_runs(contact, edges, np.array(times, dtype=np.int64)), len(times))


def of_contact(found: Reported, contact: int) -> list[tuple[int, bool]]:
    """Return the events of one contact as numbers of samples and new states."""
    mine = found.contact == contact
    return list(zip(found.sample[mine].tolist(), found.on[mine].tolist(), strict=True))


@settings(max_examples=400, deadline=None)
@given(debounce=DEBOUNCES, traces=TRACES, late=LATE, phase=st.integers(0, 999))
def test_runs_and_samples_agree(debounce: Debounce, traces: list[list[int]], late: list[int], phase: int) -> None:
    """Any number of contacts, any edges, any phase and any lateness of samples: event for event the same."""
    times = [phase + 1_000 * i + late[i] for i in range(len(late))]
    found = by_runs(debounce, traces, times)
    for contact, trace in enumerate(traces):
        assert of_contact(found, contact) == stepped(debounce, trace, times)


@pytest.mark.parametrize("error", [1, -1])
@pytest.mark.parametrize("family", [FIRST_EDGE, ASYMMETRIC, INTEGRATOR])
def test_a_count_one_off_would_be_noticed(family: DebounceFamily, error: int) -> None:
    """The comparison fails on a run model that counts a sample more or less."""
    times = list(range(300, 60_000, 1_000))
    trace = [5_000, 9_100, 9_900, 14_050, 20_000, 26_000]
    right, wrong = Debounce(family, 4, 4, 4), Debounce(family, 4 + error, 4 + error, 4 + error)
    assert of_contact(by_runs(wrong, [trace], times), 0) != stepped(right, trace, times)


def test_d2_bounce_longer_than_the_hold_off_strikes_twice() -> None:
    """D2: hold 5 under a bounce of 10 samples gives on at 5, off at 11 and on again at 16."""
    levels = "00000" + "10101100101" + "1" * 8 + "0"
    trace = [1_000 * i for i in range(1, len(levels)) if levels[i] != levels[i - 1]]
    times = list(range(0, 60_000, 1_000))
    found = of_contact(by_runs(Debounce(FIRST_EDGE, hold=5), [trace], times), 0)
    assert found == [(5, True), (11, False), (16, True), (24, False)]


def test_contacts_without_edges_report_nothing() -> None:
    """Nothing in, nothing out, in every family."""
    times = list(range(0, 9_000, 1_000))
    for debounce in (Debounce(FIRST_EDGE, hold=3), Debounce(ASYMMETRIC, 2, 3), Debounce(INTEGRATOR, 2, 3)):
        assert of_contact(by_runs(debounce, [[], []], times), 0) == []
