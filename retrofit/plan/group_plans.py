"""Sampling, debounce, latency and guarantees of every group."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from retrofit.catalogue.load import Catalogue
from retrofit.catalogue.parts import Board
from retrofit.circuits.sense.design import SenseDesign
from retrofit.plan.bounce import contact_bounce
from retrofit.plan.gaps import between_gaps_us, bridge_gaps
from retrofit.plan.interfaces import interface_word
from retrofit.plan.listening import bounce_as_kept, round_us_most
from retrofit.plan.model import GroupPlan
from retrofit.plan.scan_choice import ScanChoice
from retrofit.plan.sensing.model import GroupSensing
from retrofit.plan.wire_traffic import message_us_max
from retrofit.survey.contacts import Group
from retrofit.survey.instrument import Wanted
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
from retrofit.timing.shoe_promises import sent_bits, settling_us, shoe_sentences

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
        _timing(job, group, by_group[group.id], choice, catalogue, sensed.get(group.id)) for group in job.groups
    )


def _timing(
    job: Job,
    group: Group,
    points: Sequence[Point],
    choice: ScanChoice,
    catalogue: Catalogue,
    sensed: GroupSensing | None,
) -> GroupTiming:
    if group.id not in choice.pacing.divider_log2:
        return GroupTiming(_converter_group(job, group, points, choice, catalogue.boards[job.wanted.board]))
    kind = next(point.kind for point in points if point.kind is not PointKind.SHOE)
    circuit = None if sensed is None else sensed.chosen
    bounce = contact_bounce(group, catalogue.contacts)
    period_us = choice.pacing.period_us(group.id)
    chosen = choose_debounce(kind, period_us, bounce_as_kept(group, bounce), group.wanted.debounce)
    gap_us = 0.0 if circuit is None else circuit.gap_us
    if sensed is not None and gap_us:
        ripple = sensed.line.ripple
        chosen = bridge_gaps(chosen, gap_us, period_us, between_gaps_us(ripple, gap_us) if ripple else None)
    path = _path(group, choice, period_us, job.wanted)
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
        guarantees=guarantee_sentences(kind, chosen.debounce, period_us, _jitter_us(group, choice)),
        path=path,
        bounce=bounce,
        circuit_press_us=circuit_press_us,
        circuit_release_us=circuit_release_us,
        gap_us=gap_us,
    )
    return GroupTiming(plan, chosen, bounce)


def _circuit_delays(group: Group, circuit: SenseDesign | None) -> tuple[float, float]:
    """Return what the sense circuit adds to a press and a release, for lines that the organ owns.

    The round of the organ's own scanner is counted where the age of a sample is.
    """
    if circuit is None or group.wiring.owner is not Owner.ORGAN or round_us_most(group):
        return 0.0, 0.0
    return circuit.press_delay_us, circuit.release_delay_us


def _path(group: Group, choice: ScanChoice, period_us: int, wanted: Wanted) -> EventPath:
    """Return the way of a group's events; the jitter of each lane is counted with the lane.

    By DIN a message may leave while the scan goes on; USB packets are handed over behind the whole scan.
    """
    busy = choice.pacing.busy
    looked_at_us = max(busy.until_lane_us[lane] + busy.sample_jitter_us[lane] for lane in _lanes(group.id, choice))
    return EventPath(
        period_us=period_us,
        until_lane_us=max(looked_at_us, busy.total_us) if wanted.by_usb else looked_at_us,
        handling_us=choice.stretched_us(choice.costs.event_handling),
        jitter_us=choice.stretched_us(choice.costs.main_loop_jitter) + round_us_most(group),
        message_us=message_us_max(wanted),
    )


def _jitter_us(group: Group, choice: ScanChoice) -> float:
    """Return by how much the sampling instants of a group wander at most; what is kept may be a whole round old."""
    wanders_us = max(choice.pacing.busy.sample_jitter_us[lane] for lane in _lanes(group.id, choice))
    return choice.stretched_us(choice.costs.main_loop_jitter) + wanders_us + round_us_most(group)


def _lanes(group: str, choice: ScanChoice) -> list[int]:
    return [lane.index for lane in choice.layout.lanes if lane.group == group]


def _converter_group(job: Job, group: Group, points: Sequence[Point], choice: ScanChoice, board: Board) -> GroupPlan:
    """A group of shoes on converter channels: one conversion a tick, all channels in turn.

    A reading is taken up in the tick after the one in which it was sampled; one that leaps waits for the next.
    """
    tick_us = choice.pacing.tick_us
    cycle_us = max(1, len(choice.layout.converters)) * CONVERSIONS_PER_READING * tick_us
    shoes = [point.shoe for point in points if point.shoe is not None and point.takes_part]
    interval_us = job.wanted.shoe_interval_ms * 1000
    latency_us = shoe_latency_us_max(
        2 * cycle_us + tick_us + settling_us(shoes, cycle_us),
        interval_us,
        choice.cycles_us(choice.costs.event_handling),
        sent_bits(shoes),
    )
    bits, reference = round(board.figures["converter_bits"].usual), board.figures["supply"].least
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
        guarantees=shoe_sentences(shoes, latency_us, interval_us, bits, reference),
    )
