"""Sampling, debounce, latency and guarantees of every group."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from retrofit.catalogue.load import Catalogue
from retrofit.catalogue.parts import Contact
from retrofit.circuits.sense.design import SenseDesign
from retrofit.plan.bounce import contact_bounce
from retrofit.plan.gaps import between_gaps_us, bridge_gaps
from retrofit.plan.interfaces import interface_word
from retrofit.plan.model import GroupPlan
from retrofit.plan.scan_choice import ScanChoice
from retrofit.plan.sensing.model import GroupSensing
from retrofit.survey.contacts import Group
from retrofit.survey.job import Job
from retrofit.survey.points import Point, PointKind
from retrofit.survey.wiring import Owner
from retrofit.timing.choose import ChosenDebounce, ContactBounce, choose_debounce
from retrofit.timing.guarantees import guarantee_sentences
from retrofit.timing.latency import (
    EventPath,
    press_latency_us_max,
    release_latency_us_max,
    shoe_latency_us_max,
    stepped_shoe_latency_us_max,
)

CONVERSIONS_PER_READING = 2
"""The first conversion after a channel change is dropped (ATmega2560 data sheet, ADC channel selection)."""


@dataclass(frozen=True, slots=True)
class GroupTiming:
    """A group's plan with what it was decided from; both are None for a group without contacts."""

    plan: GroupPlan
    chosen: ChosenDebounce | None = None
    bounce: ContactBounce | None = None


def group_timings(
    job: Job,
    points: Sequence[Point],
    choice: ScanChoice,
    catalogue: Catalogue,
    sensing: Sequence[GroupSensing] = (),
) -> tuple[GroupTiming, ...]:
    """Return the timing of every group in the order of the job; `sensing` brings the delays and gaps of its circuit."""
    sensed = {one.group: one for one in sensing}
    by_group: dict[str, list[Point]] = {group.id: [] for group in job.groups}
    for point in points:
        by_group[point.group].append(point)
    return tuple(
        _timing(job, group, by_group[group.id], choice, catalogue.contacts, sensed.get(group.id))
        for group in job.groups
    )


def _timing(
    job: Job,
    group: Group,
    points: Sequence[Point],
    choice: ScanChoice,
    contacts: Mapping[str, Contact],
    sensed: GroupSensing | None,
) -> GroupTiming:
    if group.id not in choice.pacing.divider_log2:
        return GroupTiming(_converter_group(job, group, choice))
    kind = next(point.kind for point in points if point.kind is not PointKind.SHOE)
    circuit = None if sensed is None else sensed.chosen
    bounce = contact_bounce(group, contacts)
    period_us = choice.pacing.period_us(group.id)
    chosen = choose_debounce(kind, period_us, bounce, group.wanted.debounce)
    gap_us = 0.0 if circuit is None else circuit.gap_us
    if sensed is not None and gap_us:
        ripple = sensed.line.ripple
        chosen = bridge_gaps(chosen, gap_us, period_us, between_gaps_us(ripple, gap_us) if ripple else None)
    path = _path(group.id, choice, period_us)
    press_us, release_us = press_latency_us_max(chosen.debounce, path), release_latency_us_max(chosen.debounce, path)
    circuit_press_us, circuit_release_us = _circuit_delays(group, circuit)
    press_us, release_us = press_us + circuit_press_us, release_us + circuit_release_us
    if kind is PointKind.STAGE:
        interval_us = job.wanted.shoe_interval_ms * 1000
        press_us = stepped_shoe_latency_us_max(press_us, interval_us)
        release_us = stepped_shoe_latency_us_max(release_us, interval_us)
    plan = GroupPlan(
        id=group.id,
        name=group.name or group.id,
        interface=interface_word(group),
        period_us=period_us,
        divider_log2=choice.pacing.divider_log2[group.id],
        phase=choice.pacing.phase[group.id],
        busy_us=choice.pacing.busy.per_group_us[group.id],
        debounce=chosen.debounce,
        press_latency_us_max=press_us,
        release_latency_us_max=release_us,
        reasons=chosen.reasons,
        guarantees=guarantee_sentences(kind, chosen.debounce, period_us, _jitter_us(group.id, choice)),
        path=path,
        bounce=bounce,
        circuit_press_us=circuit_press_us,
        circuit_release_us=circuit_release_us,
        gap_us=gap_us,
    )
    return GroupTiming(plan, chosen, bounce)


def _circuit_delays(group: Group, circuit: SenseDesign | None) -> tuple[float, float]:
    """Return what the sense circuit adds to a press and a release, for lines that the organ owns."""
    if circuit is None or group.wiring.owner is not Owner.ORGAN:
        return 0.0, 0.0
    return circuit.press_delay_us, circuit.release_delay_us


def _path(group: str, choice: ScanChoice, period_us: int) -> EventPath:
    """Return the way of a group's events; the jitter of each lane is counted with the lane."""
    busy = choice.pacing.busy
    return EventPath(
        period_us=period_us,
        until_lane_us=max(busy.until_lane_us[lane] + busy.sample_jitter_us[lane] for lane in _lanes(group, choice)),
        handling_us=choice.cycles_us(choice.costs.event_handling),
        jitter_us=choice.cycles_us(choice.costs.main_loop_jitter),
    )


def _jitter_us(group: str, choice: ScanChoice) -> float:
    """Return by how much the sampling instants of a group wander at most."""
    wanders_us = max(choice.pacing.busy.sample_jitter_us[lane] for lane in _lanes(group, choice))
    return choice.cycles_us(choice.costs.main_loop_jitter) + wanders_us


def _lanes(group: str, choice: ScanChoice) -> list[int]:
    return [lane.index for lane in choice.layout.lanes if lane.group == group]


def _converter_group(job: Job, group: Group, choice: ScanChoice) -> GroupPlan:
    """A group of shoes on converter channels: one conversion a tick, all channels in turn."""
    tick_us = choice.pacing.tick_us
    cycle_us = max(1, len(choice.layout.converters)) * CONVERSIONS_PER_READING * tick_us
    latency_us = shoe_latency_us_max(
        cycle_us, job.wanted.shoe_interval_ms * 1000, choice.cycles_us(choice.costs.event_handling)
    )
    return GroupPlan(
        id=group.id,
        name=group.name or group.id,
        interface="converter",
        period_us=cycle_us,
        divider_log2=0,
        phase=0,
        busy_us=0.0,
        debounce=None,
        press_latency_us_max=latency_us,
        release_latency_us_max=latency_us,
    )
