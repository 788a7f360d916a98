"""The comparison of a job: every way of reading each group, every way of reading the console, and a recommendation."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from retrofit.catalogue.load import Catalogue
from retrofit.circuits.sense.design import Verdict
from retrofit.plan.topologies.candidates import candidates
from retrofit.plan.topologies.demand import Bench, Demand, demands
from retrofit.plan.topologies.kinds import Kind, kind_of
from retrofit.plan.topologies.marker import marker_advice
from retrofit.plan.topologies.model import Candidate, Comparison, GroupComparison, MarkerAdvice, WholeConsole
from retrofit.plan.topologies.recommend import Mix, best_mix, consequences, ranked, reason
from retrofit.plan.topologies.whole import Console
from retrofit.survey.job import Job
from retrofit.survey.points import list_points

RECOMMENDED, WISHED = "as recommended", "as the job asks"
_ORDER = (Verdict.GOOD, Verdict.NARROW, Verdict.UNKNOWN, Verdict.FAILS)
_MIXED = "the best way for each group, of those that fit together"


class NothingToCompareError(ValueError):
    """The job names a board that nobody knows, or holds no contacts."""


def compare(job: Job, catalogue: Catalogue, boards: int | None = None) -> Comparison:
    """Return the comparison of a job; `boards` asks for that many controllers instead of the fewest.

    Raises `NothingToCompareError` in words for the user.
    """
    board = catalogue.boards.get(job.wanted.board)
    if board is None:
        known = ", ".join(catalogue.boards)
        raise NothingToCompareError(f"wanted.board: the board {job.wanted.board!r} is not known; there is {known}")
    bench = Bench.of(job, board, catalogue)
    found, converters = demands(job, list_points(job), bench)
    if not found:
        raise NothingToCompareError("groups: no group has contacts, so that there is nothing to compare")
    by_group = {demand.group.id: demand for demand in found}
    console = Console(by_group, converters, bench, job.wanted.midi_out, boards)
    return _compared(found, console)


def _compared(found: Sequence[Demand], console: Console) -> Comparison:
    ways = {demand.group.id: candidates(demand, console.bench) for demand in found}
    ranking = {demand.group.id: ranked(ways[demand.group.id], demand) for demand in found}
    mix = best_mix(ranking, console.fits)
    groups = tuple(_group(demand, ways[demand.group.id], ranking[demand.group.id], mix) for demand in found)
    whole = tuple(_whole(found, ways, mix, console))
    recommended = _recommended(whole)
    return Comparison(
        board=console.bench.board.id,
        groups=groups,
        whole=whole,
        recommended=recommended,
        reason=_whole_reason(recommended, whole),
        markers=tuple(_markers(recommended, found, mix)),
    )


def _group(demand: Demand, ways: Sequence[Candidate], ranking: Sequence[Candidate], mix: Mix) -> GroupComparison:
    chosen = mix.get(demand.group.id)
    wanted = demand.group.wanted.interface
    wished = (
        None
        if wanted is None
        else next(c for c in ways if c.kind is kind_of(wanted, demand.group.wanted.multiplexer_inputs))
    )
    return GroupComparison(
        group=demand.group.id,
        contacts=demand.contacts,
        candidates=tuple(ways),
        recommended=None if chosen is None else chosen.kind,
        reason="every way is refused" if chosen is None else reason(chosen, ranking, demand),
        wished=None if wished is None else wished.kind,
        consequences=() if wished is None else consequences(wished, chosen),
    )


def _whole(
    found: Sequence[Demand], ways: dict[str, tuple[Candidate, ...]], mix: Mix, console: Console
) -> Iterator[WholeConsole]:
    """Yield the recommended mix, what the job asks for, and each way of reading for every group alike."""
    if len(mix) == len(found):
        yield console.whole(RECOMMENDED, mix)
    wished = {demand.group.id: _wish(demand) for demand in found}
    yield console.whole(WISHED, _choice(ways, wished))
    for kind in Kind:
        yield console.whole(f"all by {kind.value}", _choice(ways, dict.fromkeys(ways, kind)))


def _wish(demand: Demand) -> Kind:
    """Return what the job asks for; the chain where it does not say."""
    wanted = demand.group.wanted.interface
    return Kind.CHAIN if wanted is None else kind_of(wanted, demand.group.wanted.multiplexer_inputs)


def _choice(ways: dict[str, tuple[Candidate, ...]], kinds: dict[str, Kind]) -> Mix:
    return {group: next(c for c in found if c.kind is kinds[group]) for group, found in ways.items()}


def _recommended(whole: Sequence[WholeConsole]) -> WholeConsole | None:
    """Return the recommended mix; None where some group has no open way, or where no number of boards holds it."""
    return next((console for console in whole if console.name == RECOMMENDED and console.open), None)


def _whole_reason(recommended: WholeConsole | None, whole: Sequence[WholeConsole]) -> str:
    if recommended is None:
        return "some group has no way of reading that is not refused"
    others = [c for c in whole if c is not recommended and c.open and c.choice != recommended.choice]
    if not others:
        return f"{_MIXED}; every other way is refused, or has no front end in the firmware"
    other = min(others, key=lambda c: (len(c.boards), _ORDER.index(c.verdict), joints(c)))
    return f"{_MIXED}: {_effort(recommended)}, against {_effort(other)} {other.name}"


def _effort(console: WholeConsole) -> str:
    number = len(console.boards)
    return f"{joints(console)} joints on {number} board{'' if number == 1 else 's'}"


def joints(console: WholeConsole) -> int:
    """Return the joints of all boards."""
    return sum(board.counts.joints for board in console.boards)


def _markers(recommended: WholeConsole | None, found: Sequence[Demand], mix: Mix) -> Iterator[MarkerAdvice]:
    """Yield the advice for the chain of each recommended board; its last register is that of its slowest group."""
    for board in () if recommended is None else recommended.boards:
        chain = [d for d in found if d.group.id in board.groups and mix[d.group.id].kind is Kind.CHAIN]
        if chain:
            slowest = max(demand.request.speed for demand in chain)
            last = [demand for demand in chain if demand.request.speed == slowest][-1]
            registers = sum(mix[demand.group.id].counts.devices for demand in chain)
            yield marker_advice(registers, mix[last.group.id].counts.spare, board.chain_hz)
