"""Everything that a plan says about time: each group's budget and promises, and what the wire makes of its messages."""

from __future__ import annotations

from dataclasses import dataclass

from retrofit.plan.model import ConversionPlan, GroupPlan
from retrofit.plan.wire_traffic import console_messages, wire_of
from retrofit.survey.instrument import MidiOut
from retrofit.survey.points import PointKind
from retrofit.timing.budget import Budget, press_budget
from retrofit.timing.debounce import Debounce
from retrofit.timing.guarantees import Sampling
from retrofit.timing.human import repetition_words
from retrofit.timing.latency import EventPath
from retrofit.timing.promises import Promises, promises
from retrofit.timing.queues import QueueNeed, note_wait_us_max, queue_needs
from retrofit.timing.split import Split, fewest_ports
from retrofit.timing.wire_kinds import UsbWire, Wire
from retrofit.timing.wire_scenarios import Timed, scenarios, timed
from retrofit.timing.wire_verdicts import NOTES_TOGETHER_US, Carries, WireVerdict


@dataclass(frozen=True, slots=True)
class GroupTime:
    """The time of one group of contacts; `repetition` is None for controls that nobody repeats."""

    plan: GroupPlan
    budget: Budget
    promises: Promises
    repetition: str | None


@dataclass(frozen=True, slots=True)
class SplitAdvice:
    """What becomes of a burst that is heard as a spread: over the fewest ports, None when none suffice, and by USB."""

    scenario: str
    split: Split | None
    usb_us_max: float


@dataclass(frozen=True, slots=True)
class TimingReport:
    """The time of a whole plan; `note_wait_us_max` is None for a wire whose transfers the host decides.

    `crowded` says what becomes of a scan in which every contact changes; nothing for a board on which it is not known.
    """

    groups: tuple[GroupTime, ...]
    wire: str
    bursts: tuple[Timed, ...]
    queues: tuple[QueueNeed, ...]
    note_wait_us_max: float | None
    advice: tuple[SplitAdvice, ...]
    crowded: str = ""


def timing_report(plan: ConversionPlan) -> TimingReport:
    """Return what a plan says about time."""
    console, wire = console_messages(plan), wire_of(plan.job.wanted)
    bursts = tuple(timed(scenario, wire) for scenario in scenarios(console))
    usb = plan.job.wanted.midi_out is MidiOut.USB
    return TimingReport(
        groups=tuple(
            group_time(plan, group, group.debounce, group.path)
            for group in plan.groups
            if group.debounce and group.path
        ),
        wire=wire.name,
        bursts=bursts,
        queues=queue_needs(console),
        note_wait_us_max=None if usb else note_wait_us_max(),
        advice=() if usb else tuple(_advice(burst, wire) for burst in bursts if _is_spread(burst)),
        crowded=_crowded(plan),
    )


def _crowded(plan: ConversionPlan) -> str:
    scan_us, late_us = plan.figures.get("crowded_scan_us"), plan.figures.get("crowded_late_us")
    if scan_us is None or late_us is None:
        return ""
    told = f"if every contact changed between two samples, the scan would take {scan_us / 1000:.2f} ms"
    if not late_us:
        return f"{told}, which still ends within its tick of {plan.tick_us / 1000:g} ms"
    return (
        f"{told} of a tick of {plan.tick_us / 1000:g} ms: the next sample would come up to {late_us / 1000:.2f} ms "
        "late, and what moves meanwhile would be heard that much later"
    )


def group_time(plan: ConversionPlan, group: GroupPlan, debounce: Debounce, path: EventPath) -> GroupTime:
    """Return the budget and promises of a group of contacts."""
    kind = next(p.point.kind for p in plan.points if p.point.group == group.id and p.point.kind is not PointKind.SHOE)
    bounce_us = group.bounce.span_us if group.bounce else None
    promised = promises(debounce, Sampling(path.period_us, path.jitter_us), bounce_us, group.gap_us)
    return GroupTime(
        plan=group,
        budget=press_budget(
            debounce,
            path,
            bounce_us,
            circuit_us=group.circuit_press_us,
            interval_us=plan.job.wanted.shoe_interval_ms * 1000.0 if kind is PointKind.STAGE else 0.0,
        ),
        promises=promised,
        repetition=repetition_words(promised.certain_per_s, promised.release.always_us)
        if kind is PointKind.KEY
        else None,
    )


def _is_spread(burst: Timed) -> bool:
    return burst.scenario.carries is Carries.NOTES and burst.judgement.verdict is WireVerdict.TOO_MUCH


def _advice(burst: Timed, wire: Wire) -> SplitAdvice:
    messages = burst.scenario.messages
    return SplitAdvice(
        burst.scenario.id, fewest_ports(messages, wire, NOTES_TOGETHER_US), UsbWire().time(messages).us_max
    )
