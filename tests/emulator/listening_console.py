"""An invented console that is spoken to by MIDI while it is played: two manuals, tabs that take orders, pistons.

Bytes come in at the rate of the wire, one behind the other (31,250 baud, ten bits a byte: IEC 63035).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from functools import cache
from random import Random

from retrofit.plan.model import GroupPlan
from tests.emulator.demos import Console, console
from tests.emulator.harness import CYCLES_PER_US, Seen, cycles, run
from tests.emulator.midi_stream import BYTE_CYCLES, Decoded, TimedMessage, decode
from tests.emulator.playing import Performance, playable
from tests.emulator.proof import Verdict, judge, promises
from tests.plan.jobs import GREAT, HEAD, OURS, job_of, keys

PANIC = ("slip.p1", "slip.p8")
_WANTED = f"""
[wanted]
power_on_wait_s = 0.1
listen_to_stops = true
panic = ["{PANIC[0]}", "{PANIC[1]}"]
"""
_SWELL = """
[[groups]]
id = "swell"
kind = "manual"
division = "swell"
compass = { lowest = 36, count = 37 }
"""
_CHAIN = OURS + '[groups.wanted]\ninterface = "chain"\nsense = "pull-up"\n'


def _listed(name: str, kind: str, letter: str, count: int) -> str:
    points = ", ".join(f'{{ id = "{letter}{number}" }}' for number in range(1, count + 1))
    return f'[[groups]]\nid = "{name}"\nkind = "{kind}"\ndivision = "controls"\npoints = [{points}]\n{_CHAIN}'


_JOB = (
    f'{HEAD}{_WANTED}{GREAT}[[divisions]]\nid = "swell"\n[[divisions]]\nid = "controls"\n'
    f"{keys(61)}{_CHAIN}{_SWELL}{_CHAIN}{_listed('rail', 'stops', 's', 16)}{_listed('slip', 'pistons', 'p', 8)}"
)


@cache
def listening_console() -> Console:
    """Return the console: 61 keys on channel 1, 37 on channel 2, 16 tabs and 8 pistons on channel 3, on the chain."""
    return console(job_of(_JOB))


def points_of(*groups: str) -> dict[str, GroupPlan]:
    """Return the points of some groups, each with its group."""
    return {point: group for point, group in playable(listening_console().plan).items() if group.id in groups}


@dataclass
class Sender:
    """What is joined to MIDI in: bytes, each with the cycle at which it has come in."""

    stream: list[tuple[int, int]] = field(default_factory=list)

    def say(self, at_us: float, data: bytes) -> float:
        """Send bytes from this moment on; return when the last one has come in, in microseconds."""
        begins = cycles(us=at_us)
        self.stream += [(begins + BYTE_CYCLES * (turn + 1), byte) for turn, byte in enumerate(data)]
        return self.stream[-1][0] / CYCLES_PER_US


def listen(played: Performance, sender: Sender, held: Iterable[str] = (), tail_ms: float = 100) -> Seen:
    """Run what is played while the sender speaks."""
    this = listening_console()
    scenario = this.stage.scenario(this.image.hex, played.end_us / 1000 + tail_ms, played.events, held=held)
    return run(replace(scenario, midi_in=tuple(sorted(sender.stream))))


def judged(played: Performance, heard: Decoded, answers: frozenset[bytes]) -> Verdict:
    """Judge what was heard of what was played; `answers` holds the first two bytes of what was asked for."""
    this = listening_console()
    return judge(
        promises(this.plan),
        played.changes,
        heard,
        from_cycle=this.listening_us * CYCLES_PER_US,
        scan_gap_us=this.plan.busy_us,
        ignored=answers,
    )


def decode_with_cut(stream: Iterable[tuple[int, int]], whole: bytes) -> Decoded:
    """Decode `(cycle of the start bit, byte)` pairs, keeping beginnings of one system exclusive message as messages.

    A note may cut that message.  Only bytes with which `whole` begins are taken for a part of it, all others stay
    stray.
    """
    decoded = decode(stream)
    parts: list[list[tuple[int, int]]] = []
    for stray in decoded.strays:
        if stray.byte == whole[0] or not parts:
            parts.append([])
        parts[-1].append((stray.cycle, stray.byte))
    cut = [part for part in parts if whole.startswith(bytes(byte for _, byte in part))]
    cycles_of_cut = {cycle for part in cut for cycle, _ in part}
    messages = sorted([*decoded.messages, *map(_message, cut)], key=lambda message: message.begins)
    strays = tuple(stray for stray in decoded.strays if stray.cycle not in cycles_of_cut)
    return Decoded(tuple(messages), strays)


def _message(part: list[tuple[int, int]]) -> TimedMessage:
    data = bytes(byte for _, byte in part)
    return TimedMessage(data, part[0][0], part[-1][0] + BYTE_CYCLES, len(data))


def noise(rng: Random, count: int) -> bytes:
    """Return bytes drawn by chance that order no silence: All Sound Off and All Notes Off are left out (MIDI 1.0)."""
    return bytes(rng.choice([byte for byte in range(256) if byte not in {120, 123}]) for _ in range(count))
