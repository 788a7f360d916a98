"""The comparison: what the plan promised for every point against what left the wire, change by change.

A change of a point (a press or a release, with its bounce) must bring exactly its message, after the change began and
not later than predicted.  Prediction counts from the last bounce to the end of the last byte on an idle wire, whatever
the other contacts do meanwhile.  A message that finds the wire busy may wait for the bytes ahead of it, 320 µs each,
and for the scan that may keep the processor from handing on the next one (`scan_gap_us`, once per message ahead).  So a
message past its deadline passes only when the wire was busy, but for those gaps, from the moment at which it should
have begun until it did.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from math import inf

from retrofit.midi.messages import PointMessage
from retrofit.plan.model import ConversionPlan
from tests.emulator.bounce import Burst
from tests.emulator.harness import CYCLES_PER_US
from tests.emulator.midi_stream import BYTE_CYCLES, Decoded, TimedMessage


class Fault(StrEnum):
    """What can be wrong with what was heard."""

    MISSING = "missing"
    DOUBLED = "doubled"
    EXTRA = "extra"
    EARLY = "early"
    LATE = "late"


@dataclass(frozen=True)
class Violation:
    """One broken promise, in words."""

    fault: Fault
    subject: str
    at_us: float
    words: str

    def __str__(self) -> str:
        return f"{self.subject} at {self.at_us / 1000:.3f} ms: {self.fault}: {self.words}"


@dataclass(frozen=True)
class Change:
    """A point goes on or off: the cycles of its first and last edge."""

    point: str
    on: bool
    first: float
    settled: float


@dataclass(frozen=True)
class Promise:
    """What the plan promises for one point: its messages, and how long a press and a release take at worst."""

    group: str
    message: PointMessage
    press_us: float
    release_us: float

    def data(self, on: bool) -> bytes:
        """Return the bytes for on or off."""
        return self.message.on if on else self.message.off

    def latency_cycles(self, on: bool) -> float:
        """Return the longest time from settled to sent."""
        return (self.press_us if on else self.release_us) * CYCLES_PER_US


@dataclass
class Latencies:
    """Times from settled to sent on an idle wire, in microseconds, of one group."""

    press_us: list[float] = field(default_factory=list)
    release_us: list[float] = field(default_factory=list)


@dataclass(frozen=True)
class Verdict:
    """Everything found: broken promises, and what was measured along the way."""

    violations: tuple[Violation, ...]
    changes: int
    messages: int
    latencies: Mapping[str, Latencies]

    @property
    def sound(self) -> bool:
        """True when no promise was broken."""
        return not self.violations

    def report(self, most: int = 20) -> str:
        """Return the violations in words, the first `most` of them."""
        lines = [str(violation) for violation in self.violations[:most]]
        more = len(self.violations) - most
        return "\n".join([*lines, f"... and {more} more"] if more > 0 else lines)


def change_from(point: str, burst: Burst, *, closed_is_on: bool = True) -> Change:
    """Return the change of a point that a burst of its contact means."""
    return Change(point, burst.state is closed_is_on, burst.first_us * CYCLES_PER_US, burst.settled_us * CYCLES_PER_US)


def promises(plan: ConversionPlan) -> dict[str, Promise]:
    """Return the promise of every point that sends a message of its own."""
    groups = {group.id: group for group in plan.groups}
    return {
        each.point.id: Promise(
            each.point.group,
            each.message,
            groups[each.point.group].press_latency_us_max,
            groups[each.point.group].release_latency_us_max,
        )
        for each in plan.points
        if each.message is not None and each.point.takes_part
    }


def judge(
    promised: Mapping[str, Promise],
    changes: Iterable[Change],
    decoded: Decoded,
    *,
    from_cycle: float = 0,
    scan_gap_us: float = 0,
    ignored: frozenset[bytes] = frozenset(),
) -> Verdict:
    """Compare what was heard from `from_cycle` on with the promises.

    `ignored` holds the first two bytes of messages that are judged elsewhere (the controllers of shoes).
    """
    return _Judge(promised, decoded, from_cycle, scan_gap_us, ignored).verdict(sorted(changes, key=lambda c: c.first))


class _Judge:
    def __init__(
        self,
        promised: Mapping[str, Promise],
        decoded: Decoded,
        from_cycle: float,
        scan_gap_us: float,
        ignored: frozenset[bytes],
    ) -> None:
        self.promised = promised
        self.wire = _Wire(decoded.messages)
        self.strays = [stray for stray in decoded.strays if stray.cycle >= from_cycle]
        self.messages = [m for m in decoded.messages if m.begins >= from_cycle and m.data[:2] not in ignored]
        self.gap_cycles = scan_gap_us * CYCLES_PER_US
        self.violations: list[Violation] = []
        self.latencies: dict[str, Latencies] = {}

    def verdict(self, changes: Sequence[Change]) -> Verdict:
        heard = self._by_point()
        for point, its_changes in _changes_by_point(changes).items():
            self._judge_point(point, its_changes, heard.pop(point, []))
        for point, messages in heard.items():
            for message in messages:
                self._extra(message, f"heard {_hex(message.data)} though {point} was never touched", point)
        for stray in self.strays:
            self._add(Fault.EXTRA, "wire", stray.cycle, f"byte {stray.byte:02X}: {stray.why}")
        ordered = tuple(sorted(self.violations, key=lambda violation: violation.at_us))
        return Verdict(ordered, len(changes), len(self.messages), self.latencies)

    def _by_point(self) -> dict[str, list[TimedMessage]]:
        """Sort the messages to the points that send them; what no point sends is extra at once."""
        owners = {data: point for point, promise in self.promised.items() for data in _both(promise.message) if data}
        heard: dict[str, list[TimedMessage]] = {}
        for message in self.messages:
            owner = owners.get(message.data)
            if owner is None:
                self._extra(message, f"heard {_hex(message.data)}, which no point sends", "wire")
            else:
                heard.setdefault(owner, []).append(message)
        return heard

    def _judge_point(self, point: str, changes: Sequence[Change], heard: Sequence[TimedMessage]) -> None:
        begins = [message.begins for message in heard]
        first = bisect_left(begins, changes[0].first)
        for message in heard[:first]:
            self._add(Fault.EARLY, point, message.begins, f"heard {_hex(message.data)} before anything was touched")
        starts = [*(change.first for change in changes[1:]), inf, inf]
        for turn, change in enumerate(changes):
            end = bisect_left(begins, starts[turn], lo=first)
            own = list(heard[first:end])
            if not own and end < len(heard) and begins[end] < starts[turn + 1] and self._answers(heard[end], change):
                own, end = [heard[end]], end + 1
            self._judge_change(change, own)
            first = end

    def _answers(self, message: TimedMessage, change: Change) -> bool:
        """A tap may be over before its press has been sent: the message then comes after the release has begun."""
        promise = self.promised.get(change.point)
        return promise is not None and message.data == promise.data(change.on)

    def _judge_change(self, change: Change, heard: Sequence[TimedMessage]) -> None:
        promise = self.promised.get(change.point)
        expected = promise.data(change.on) if promise else b""
        right = [message for message in heard if message.data == expected]
        for message in heard:
            if message.data != expected:
                self._extra(message, f"{_words(change)} brought {_hex(message.data)}", change.point)
        for message in right[1:]:
            self._add(
                Fault.DOUBLED, change.point, message.begins, f"{_words(change)} brought {_hex(expected)} once more"
            )
        if promise is None or not expected:
            return
        if right:
            self._judge_time(change, promise, right[0])
        else:
            predicted = promise.press_us if change.on else promise.release_us
            words = f"{_words(change)} brought nothing; predicted {_hex(expected)} within {predicted:.0f} µs"
            self._add(Fault.MISSING, change.point, change.first, words)

    def _judge_time(self, change: Change, promise: Promise, message: TimedMessage) -> None:
        taken = message.ends - change.settled
        if self.wire.is_idle(message.begins - TRANSMITTER_CYCLES, message.begins):
            latencies = self.latencies.setdefault(promise.group, Latencies())
            (latencies.press_us if change.on else latencies.release_us).append(taken / CYCLES_PER_US)
        allowed = promise.latency_cycles(change.on)
        if taken <= allowed:
            return
        should_begin = change.settled + allowed - message.wire_bytes * BYTE_CYCLES
        idle, ahead = self.wire.idle_between(should_begin, message.begins)
        if idle > self.gap_cycles * ahead:
            words = (
                f"{_words(change)} was sent after {taken / CYCLES_PER_US:.1f} µs; predicted "
                f"{allowed / CYCLES_PER_US:.1f} µs, and the wire was idle for {idle / CYCLES_PER_US:.1f} µs meanwhile"
            )
            self._add(Fault.LATE, change.point, message.begins, words)

    def _extra(self, message: TimedMessage, words: str, subject: str) -> None:
        self._add(Fault.EXTRA, subject, message.begins, words)

    def _add(self, fault: Fault, subject: str, cycle: float, words: str) -> None:
        self.violations.append(Violation(fault, subject, cycle / CYCLES_PER_US, words))


class _Wire:
    """When the wire was busy."""

    def __init__(self, messages: Sequence[TimedMessage]) -> None:
        self.begins = [message.begins for message in messages]
        self.ends = [message.ends for message in messages]
        self.sent = [message.wire_bytes * BYTE_CYCLES for message in messages]

    def is_idle(self, start: float, end: float) -> bool:
        """Return whether no message was on the wire between two cycles."""
        before = bisect_left(self.begins, end) - 1
        return before < 0 or self.ends[before] <= start

    def idle_between(self, start: float, end: float) -> tuple[float, int]:
        """Return for how many cycles the wire was idle between two cycles, and how many messages it carried there."""
        if end <= start:
            return 0.0, 0
        first = bisect_right(self.ends, start)
        last = bisect_left(self.begins, end)
        busy = sum(min(self.sent[n], self.ends[n] - start) for n in range(first, last))
        return end - start - busy, last - first


TRANSMITTER_CYCLES = 2 * BYTE_CYCLES
"""A message waited for nothing when the wire was free for so long: the transmitter holds two bytes."""


def _changes_by_point(changes: Iterable[Change]) -> dict[str, list[Change]]:
    by_point: dict[str, list[Change]] = {}
    for change in changes:
        by_point.setdefault(change.point, []).append(change)
    return by_point


def _both(message: PointMessage) -> tuple[bytes, bytes]:
    return message.on, message.off


def _words(change: Change) -> str:
    return f"{'press' if change.on else 'release'} at {change.first / CYCLES_PER_US / 1000:.3f} ms"


def _hex(data: bytes) -> str:
    return data.hex(" ").upper()
