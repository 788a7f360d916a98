"""One division rehearsed: the run, its outcome, and the causes that a diagnosis makes of it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from random import Random

from retrofit.cli.output import data
from retrofit.cli.prove_causes import causes_of
from retrofit.cli.prove_course import new_course
from retrofit.cli.rehearse_console import Stage
from retrofit.cli.rehearse_person import RehearsingPerson
from retrofit.cli.rehearse_shoe import swept
from retrofit.plan.model import ConversionPlan
from retrofit.proving.runs.entries import Entry, EntryKind
from retrofit.proving.runs.results import RunResult, Verdict, result_of
from retrofit.proving.runs.runner import Runner
from retrofit.proving.strays import stray_told
from retrofit.rehearsal.standin.manners import MANNERS, QUICK
from retrofit.rehearsal.standin.player import Player

STRAYS_SHOWN = 4
"""So many messages of no point are shown one by one."""


@dataclass(frozen=True, slots=True)
class Playing:
    """How a rehearsal is played: by whom, from which seed, and how long the soak is."""

    player: str
    seed: int
    soak_minutes: float


@dataclass(frozen=True, slots=True)
class Rehearsed:
    """How a division came out."""

    result: RunResult
    causes: tuple[str, ...]


def rehearsed(plan: ConversionPlan, division: str, stage: Stage, playing: Playing) -> Rehearsed:
    """Run a whole proving of a division on the stand-in, from what its board said at power-on."""
    run = new_course(plan, division, (), playing.soak_minutes, ask=False).run
    for message in stage.opening:
        run.take(Entry(EntryKind.MIDI, 0, message))
    random = Random(f"{playing.seed} {division}")  # noqa: S311  # a repeatable game, no secret
    players = Player(random, MANNERS[playing.player]), Player(random, QUICK)
    person = RehearsingPerson(stage, run, *players, lambda shoe: swept(plan, shoe, random))
    Runner(run, stage.source, stage.clock, person).go()
    person.finish()
    return Rehearsed(result_of(run, division), causes_of(plan, run, division))


def say_outcome(outcomes: Sequence[Rehearsed]) -> None:
    """Show how every division came out: counts, what failed, what was found, and the causes."""
    for one in outcomes:
        for line in rehearsal_lines(one):
            data(line)


def rehearsal_lines(one: Rehearsed) -> Iterator[str]:
    """Yield how a division came out, and the causes that were found."""
    result = one.result
    counts = Counter(point.verdict for point in result.points)
    yield f"{result.division}: {', '.join(f'{counts[v]} {v}' for v in Verdict if counts[v]) or 'no point'}"
    yield from (f"  {p.words}: {p.remark}" for p in result.points if p.verdict is Verdict.FAILED)
    told = {point.point for point in result.points if point.verdict is Verdict.FAILED}
    yield from (f"  {found.subject}: {found.words}" for found in result.findings if found.subject not in told)
    yield from (f"  {stray_told(words)}: {count} times" for words, count in result.strays[:STRAYS_SHOWN])
    if len(result.strays) > STRAYS_SHOWN:
        yield f"  and {len(result.strays) - STRAYS_SHOWN} more such messages"
    yield from (f"  cause: {cause}" for cause in one.causes)
