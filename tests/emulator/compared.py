"""Prediction against emulation of one console in a few figures, for the table at the end of a campaign."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from tests.emulator.demos import Console
from tests.emulator.proof import Verdict
from tests.emulator.quiet import quiet_scans, tick_times

BUSY_OFF = 0.05
LATENCY_SHARE = 0.8


@dataclass(frozen=True)
class Compared:
    """What a console is read by, its longest quiet tick, and the worst press of the group that comes out worst.

    `busy_us` and `busy_predicted_us` are of that tick.  `nearest` and `farthest` are the greatest and the least worst
    press latency of any group as parts of its prediction.
    """

    name: str
    interfaces: str
    tick_us: int
    busy_us: float
    busy_predicted_us: float
    nearest: float
    farthest: float
    sound: bool

    @property
    def busy_off(self) -> float:
        """By which part of it the predicted busy time is off."""
        return self.busy_predicted_us / self.busy_us - 1

    @property
    def kept(self) -> bool:
        """True when busy time, latency and every message were as predicted."""
        return self.sound and abs(self.busy_off) <= BUSY_OFF and LATENCY_SHARE <= self.farthest <= self.nearest <= 1


def compare(name: str, console: Console, verdicts: Sequence[Verdict]) -> Compared:
    """Return the figures of a console; the last of `verdicts` is that of clean strokes on an idle wire."""
    plan = console.plan
    measured, _ = tick_times(plan, quiet_scans(console))
    shares = [
        max(found.press_us) / group.press_latency_us_max
        for group in plan.groups
        if (found := verdicts[-1].latencies.get(group.id)) is not None and found.press_us
    ]
    counted = Counter(group.interface for group in plan.groups)
    return Compared(
        name=name,
        interfaces=", ".join(f"{count} {interface}" for interface, count in sorted(counted.items())),
        tick_us=plan.tick_us,
        busy_us=max(measured.values()),
        busy_predicted_us=plan.busy_us,
        nearest=max(shares),
        farthest=min(shares),
        sound=all(verdict.sound for verdict in verdicts),
    )


def table(rows: Iterable[Compared]) -> str:
    """Return one line per console."""
    heads = f"{'console':<14}{'tick µs':>8}{'busy µs':>9}{'said µs':>9}{'off':>8}{'press':>12}  read by"
    return "\n".join([heads, *map(_line, rows)])


def _line(row: Compared) -> str:
    press = f"{row.farthest:.0%}-{row.nearest:.0%}"
    figures = f"{row.tick_us:>8}{row.busy_us:>9.1f}{row.busy_predicted_us:>9.1f}{row.busy_off:>+8.1%}{press:>12}"
    return f"{row.name:<14}{figures}  {row.interfaces}{'' if row.kept else '  BROKEN'}"
