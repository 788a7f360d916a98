"""The isolation plan: what our ground is joined to, and every conductor that crosses from there to the outside."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from retrofit.circuits.hum import leak_amps, level_db, shared_volts
from retrofit.plan.sensing.model import Crossing, GroupSensing, HumPath, IsolationPlan
from retrofit.plan.sensing.power import is_isolated
from retrofit.survey.base import Ternary
from retrofit.survey.instrument import Wanted
from retrofit.survey.job import Job

MAINS_VOLTS, MAINS_HZ = 230.0, 50.0
ADAPTOR_FARADS = 2.2e-9
"""Capacitor between mains and output of a two-wire adaptor; from memory."""
BARRIER_FARADS = 20e-12
"""Capacitance of an isolation barrier; from memory."""
SIGNAL_VOLTS, SHARED_OHMS = 0.1, 0.1
"""What a hum is compared with, and the resistance that it is stated for."""
_ALWAYS, _SERVICE = "while the organ plays", "during service"


def plan_isolation(job: Job, sensing: Sequence[GroupSensing]) -> IsolationPlan:
    """Return the isolation plan of a job; without a line of the organ nothing needs to be kept apart."""
    organs = [sensed for sensed in sensing if not sensed.line.ours and sensed.chosen is not None]
    joined = tuple(s.group for s in organs if s.chosen is not None and not is_isolated(s.chosen))
    isolated = tuple(s.group for s in organs if s.group not in joined)
    if not joined:
        return IsolationPlan(joined, isolated, (), ())
    return IsolationPlan(joined, isolated, tuple(_crossings(job.wanted)), hum_paths())


def _crossings(wanted: Wanted) -> Iterator[Crossing]:
    barrier = None if wanted.isolation_barrier is Ternary.UNKNOWN else wanted.isolation_barrier is Ternary.YES
    isolator = "rated USB isolator" if barrier else "nothing that anybody has named"
    if wanted.by_usb:
        yield Crossing("USB lead to the computer: MIDI and supply", _ALWAYS, barrier, isolator)
    if wanted.by_din:
        receiver = (
            "optocoupler of the MIDI receiver (MIDI 1.0 electrical specification), shield joined at our end alone"
        )
        yield Crossing("MIDI DIN lead", _ALWAYS, True, receiver)
    if not wanted.by_usb:
        yield Crossing(
            "leads of our own supply", _ALWAYS, None, "transformer of an isolated adaptor, which must be rated"
        )
    yield Crossing("USB lead for service", _SERVICE, barrier, f"{isolator}, or a computer on its battery alone")


def hum_paths() -> tuple[HumPath, ...]:
    """Return what a computer on a two-wire adaptor drives through a return of the organ, without and with a barrier."""
    ways = {
        "computer on a two-wire adaptor, joined": ADAPTOR_FARADS,
        "the same through an isolation barrier": BARRIER_FARADS,
    }
    return tuple(_path(way, leak_amps(MAINS_VOLTS, MAINS_HZ, farads)) for way, farads in ways.items())


def _path(way: str, amps: float) -> HumPath:
    return HumPath(way, amps, level_db(shared_volts(amps, SHARED_OHMS), SIGNAL_VOLTS))
