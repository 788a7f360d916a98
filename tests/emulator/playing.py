"""Playing a console: strokes on every point, with bounce, at moments that know nothing of the scan."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from random import Random

from retrofit.plan.model import ConversionPlan, GroupPlan
from retrofit.survey.points import PointKind
from retrofit.survey.wishes import DebounceFamily
from retrofit.timing.debounce import Debounce
from tests.emulator.bounce import Burst, Edge, random_burst
from tests.emulator.demos import Console
from tests.emulator.harness import CYCLES_PER_US, Event, Seen, run
from tests.emulator.midi_stream import Decoded, decode, decode_packets
from tests.emulator.proof import Change, Verdict, change_from, judge, promises
from tests.emulator.stage import Stage

PACE_US = 3000.0
"""Mean time between two changes of the console as a whole: the wire is busy for about a third of it."""
LATE_TICK_US = 60.0
"""Kept away from a guarantee's edge: a tick may begin a little after its due time."""
LONGEST_HOLD_US = 120_000.0
REST_US = 40_000.0
"""After this long nothing of an earlier stroke runs any more."""


@dataclass
class Performance:
    """What was played: events for the emulator, changes for the comparison."""

    events: list[Event] = field(default_factory=list)
    changes: list[Change] = field(default_factory=list)
    end_us: float = 0.0

    def add(self, stage: Stage, point: str, burst: Burst) -> None:
        """Let a point change by a burst; True in a burst means on."""
        self.events += stage.events(point, burst.edges)
        self.changes.append(change_from(point, burst))
        self.end_us = max(self.end_us, burst.settled_us)

    def disturb(self, stage: Stage, point: str, edges: Iterable[Edge]) -> None:
        """Move a contact without meaning a change: nothing may be heard of it."""
        self.events += stage.events(point, edges)


def guaranteed_bounce_us(debounce: Debounce, period_us: float) -> float:
    """Return the longest bounce that must never be heard as more than one change.

    First edge: the sample that ends the hold-off has to find the contact settled, so B <= hold x T.  Counted: a false
    second change needs `press` and `release` wrong samples inside one burst, and a burst of B holds at most
    floor(B/T) + 1 samples, so B < (press + release - 1) x T.
    """
    if debounce.family is DebounceFamily.FIRST_EDGE:
        return debounce.hold * period_us
    return (debounce.press + debounce.release - 1) * period_us


def sampling_slack_us(plan: ConversionPlan, group: GroupPlan) -> float:
    """Return by how much the moments of two samples may differ from a whole number of periods.

    The chain is loaded at the beginning of a scan; what is read from matrices and pins comes behind everything else
    that is due in the tick, so its moment wanders by up to the length of a scan.  A round of the expanders' bus is held
    up by every scan that falls into it, and what is kept of a keyboard that the organ scans may be a round old.
    """
    scans = {"chain": 0, "expander": group.period_us // plan.tick_us}.get(group.interface, 1)
    return LATE_TICK_US + scans * plan.busy_us + kept_us(plan, group)


def kept_us(plan: ConversionPlan, group: GroupPlan) -> float:
    """Return how old what is kept of a scanned key may be: a round of the organ's scanner and its jitter."""
    survey = next(one for one in plan.job.groups if one.id == group.id)
    if group.interface != "listen" or survey.wiring.strobes is None:
        return 0.0
    period_s: float | None = survey.wiring.strobes.period.value
    return 1.03e6 * (period_s or 0.0)


def longest_bounce_us(plan: ConversionPlan, group: GroupPlan) -> float:
    """Return the longest bounce that a group is played with: up to its guarantee."""
    if group.debounce is None:
        return 0.0
    return guaranteed_bounce_us(group.debounce, group.period_us) - sampling_slack_us(plan, group)


def playable(plan: ConversionPlan) -> dict[str, GroupPlan]:
    """Return every point that has a contact of its own and sends a message of its own, with its group."""
    groups = {group.id: group for group in plan.groups}
    return {
        each.point.id: groups[each.point.group]
        for each in plan.points
        if each.message is not None and each.point.takes_part and each.point.same_line_as is None
    }


def play_everything(console: Console, rng: Random, repetitions: int = 1) -> Performance:
    """Press and release every point, `repetitions` times, each time in another order; what is left out chatters on."""
    stage, points = console.stage, playable(console.plan)
    played = Performance(end_us=console.listening_us)
    for _ in range(repetitions):
        play_round(stage, points, rng, played)
    _chatter(stage, points, rng, played, console)
    return played


def play_round(stage: Stage, points: dict[str, GroupPlan], rng: Random, played: Performance) -> None:
    """Press and release every one of these points once, in an order drawn by chance, behind what was played so far."""
    order = list(points)
    rng.shuffle(order)
    start_us = played.end_us + 50_000
    for turn, point in enumerate(order):
        group = points[point]
        longest = longest_bounce_us(stage.plan, group)
        press = random_burst(rng, start_us + (turn + rng.random()) * 2 * PACE_US, True, longest)
        shortest_hold = group.press_latency_us_max + group.release_latency_us_max + longest
        release_at = press.settled_us + rng.uniform(shortest_hold, shortest_hold + LONGEST_HOLD_US)
        played.add(stage, point, press)
        played.add(stage, point, random_burst(rng, release_at, False, longest))


def _chatter(stage: Stage, points: dict[str, GroupPlan], rng: Random, played: Performance, console: Console) -> None:
    """Contacts that are there but were left out of the conversion move all the time and must not be heard."""
    stages = {each.point.id for each in console.plan.points if each.point.kind is PointKind.STAGE}
    for point in stage.contacts.keys() - points.keys() - stages:
        times = sorted(rng.uniform(console.listening_us, played.end_us) for _ in range(200))
        played.disturb(stage, point, [(time, turn % 2 == 0) for turn, time in enumerate(times)])


def clean_strokes(console: Console, rng: Random, points: Sequence[str], strokes: int) -> Performance:
    """Press and release some points without bounce, one at a time: wire and scan do nothing else.

    Quick taps and long strokes come in turn, at random phases.  A tap is just long enough to be heard.  A press never
    comes before every hold-off of the stroke before it is over.
    """
    stage, groups = console.stage, playable(console.plan)
    played = Performance(end_us=console.listening_us + REST_US)
    at_us = played.end_us
    for stroke in range(strokes):
        for point in points:
            group = groups[point]
            played.add(stage, point, Burst(((at_us, True),)))
            at_us += shortest_stroke_us(stage.plan, group) + rng.random() * group.period_us
            at_us += (stroke % 2) * (group.press_latency_us_max + rng.random() * group.period_us)
            played.add(stage, point, Burst(((at_us, False),)))
            at_us += group.release_latency_us_max + longest_bounce_us(stage.plan, group)
            at_us += rng.random() * group.period_us + REST_US
    return played


def shortest_stroke_us(plan: ConversionPlan, group: GroupPlan) -> float:
    """Return how long a stroke must last to be heard at any phase: its samples, and a little for their being late."""
    samples = group.debounce.press if group.debounce else 1
    return samples * group.period_us + sampling_slack_us(plan, group)


def last_points(plan: ConversionPlan) -> list[str]:
    """Return the last point of every group: the one that is read latest."""
    return list({group.id: point for point, group in playable(plan).items()}.values())


def perform(console: Console, played: Performance, tail_ms: float = 100) -> tuple[Seen, Verdict]:
    """Run what was played and judge what was heard."""
    seen = run(console.stage.scenario(console.image.hex, played.end_us / 1000 + tail_ms, played.events))
    return seen, verdict(console, played, seen)


def heard(console: Console, seen: Seen) -> Decoded:
    """Return what left the board: by USB where that is its only outlet."""
    if seen.usb is None or console.plan.job.wanted.by_din:
        return decode(seen.midi)
    return decode_packets(seen.usb.packets)


def verdict(console: Console, played: Performance, seen: Seen) -> Verdict:
    """Judge what was heard of what was played."""
    return judge(
        promises(console.plan),
        played.changes,
        heard(console, seen),
        from_cycle=console.listening_us * CYCLES_PER_US,
        scan_gap_us=console.plan.busy_us,
        ignored=shoe_messages(console.plan),
    )


def shoe_messages(plan: ConversionPlan) -> frozenset[bytes]:
    """Return the first two bytes of every shoe's control changes."""
    shoes = (each.shoe for each in plan.points if each.shoe is not None)
    return frozenset(bytes((0xB0 | shoe.channel - 1, shoe.controller)) for shoe in shoes)
