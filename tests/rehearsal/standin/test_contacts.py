"""The stand-in's debounce from change to change, against the stepwise model that looks at every sample."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from retrofit.rehearsal.standin.board.contacts import Settled, settled
from retrofit.survey.wishes import DebounceFamily
from retrofit.timing.debounce import Debounce
from retrofit.timing.samples import Counted, FirstEdge, Integrator
from retrofit.timing.trace import Sampler

COUNTS = st.integers(1, 12)


def model_of(debounce: Debounce) -> Sampler:
    """Return the stepwise model of a debounce."""
    match debounce.family:
        case DebounceFamily.FIRST_EDGE:
            return FirstEdge(debounce.hold)
        case DebounceFamily.INTEGRATOR:
            return Integrator(debounce.press, debounce.release)
        case DebounceFamily.CONSECUTIVE:
            return Counted(debounce.press, debounce.press)
        case DebounceFamily.ASYMMETRIC:
            return Counted(debounce.press, debounce.release)


def from_change_to_change(contact: Settled, samples: list[bool], period: int) -> list[tuple[int, bool]]:
    """Tell the contact of changes alone; return the numbers of the samples at which its state changes, and to what."""
    found: list[tuple[int, bool]] = []
    due: int | None = None
    for number, level in enumerate(samples):
        tick = number * period
        if level != contact.level:
            due = contact.look(tick, level)
        if due == tick:
            contact.decide(tick)
            found.append((number, contact.state))
            due = None
    return found


@given(
    family=st.sampled_from(list(DebounceFamily)),
    press=COUNTS,
    release=COUNTS,
    hold=COUNTS,
    period=st.sampled_from((1, 2, 8)),
    stretches=st.lists(st.integers(1, 15), max_size=60),
)
@settings(max_examples=400, deadline=None, derandomize=True)
def test_every_event_is_the_models(
    family: DebounceFamily, press: int, release: int, hold: int, period: int, stretches: list[int]
) -> None:
    """Whatever the stretches of closed and open samples, the events come at the same samples."""
    debounce = Debounce(family, press, release, hold)
    samples = [number % 2 == 0 for number, length in enumerate(stretches) for _ in range(length)]
    model = model_of(debounce)
    expected = [(number, state) for number, level in enumerate(samples) if (state := model.sample(level)) is not None]
    assert from_change_to_change(settled(period, debounce), samples, period) == expected
