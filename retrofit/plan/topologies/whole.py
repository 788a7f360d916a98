"""Ways of reading a whole console: one for every group, on one controller or on the fewest that hold it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from retrofit.circuits.sense.design import Verdict
from retrofit.plan.topologies.board_load import Site, board_load
from retrofit.plan.topologies.demand import Bench, Demand
from retrofit.plan.topologies.model import BoardLoad, WholeConsole
from retrofit.plan.topologies.partition import Partition, fewest_boards, on_boards
from retrofit.plan.topologies.recommend import Mix
from retrofit.scan.requests import GroupRequest
from retrofit.survey.instrument import MidiOut

_VERDICTS = (Verdict.FAILS, Verdict.UNKNOWN, Verdict.NARROW, Verdict.GOOD)


@dataclass
class Console:
    """The groups of a job on the bench, and the loads of sets of groups that were worked out already."""

    demands: Mapping[str, Demand]
    converters: Sequence[GroupRequest]
    bench: Bench
    midi_out: MidiOut
    boards: int | None = None
    _loads: dict[tuple[tuple[str, str], ...], BoardLoad] = field(default_factory=dict)

    def load(self, mix: Mix) -> BoardLoad:
        """Return what a mix takes of one board; the converter channels are reckoned to every board."""
        key = tuple((name, candidate.kind.value) for name, candidate in mix.items())
        if key not in self._loads:
            self._loads[key] = board_load(Site(mix, self.demands, self.converters), self.bench)
        return self._loads[key]

    def fits(self, mix: Mix) -> bool:
        """Return whether one board holds a mix."""
        return not self.load(mix).problems

    def whole(self, name: str, mix: Mix) -> WholeConsole:
        """Return a mix on the fewest boards, or on as many as were asked for."""
        refused = tuple(
            f"{group}: {candidate.refusals[0].sentence}" for group, candidate in mix.items() if candidate.refusals
        )
        choice = {group: candidate.kind for group, candidate in mix.items()}
        bare = tuple(dict.fromkeys(candidate.kind for candidate in mix.values() if candidate.wish is None))
        partition = None if refused else self._partition(mix)
        if partition is None:
            reasons = refused or self._no_room(mix)
            return WholeConsole(name, choice, refusals=reasons, without_front_end=bare, verdict=Verdict.FAILS)
        boards = tuple(self.load({group: mix[group] for group in groups}) for groups in partition.boards)
        found = {candidate.verdict for candidate in mix.values()}
        return WholeConsole(
            name=name,
            choice=choice,
            boards=boards,
            least_proven=partition.least_proven,
            without_front_end=bare,
            joins=_joins(len(boards), self.midi_out),
            verdict=next((verdict for verdict in _VERDICTS if verdict in found), Verdict.GOOD),
        )

    def _partition(self, mix: Mix) -> Partition | None:
        sizes = {group: self.demands[group].places for group in mix}

        def fits(groups: frozenset[str]) -> bool:
            return self.fits({group: candidate for group, candidate in mix.items() if group in groups})

        return fewest_boards(sizes, fits) if self.boards is None else on_boards(sizes, fits, self.boards)

    def _no_room(self, mix: Mix) -> tuple[str, ...]:
        alone = {group: self.load({group: candidate}).problems for group, candidate in mix.items()}
        words = tuple(f"{group}, alone on a board: {problems[0]}" for group, problems in alone.items() if problems)
        if words:
            return words
        return (f"the groups cannot be put on {self.boards} boards so that each has one and none is too full",)


def _joins(boards: int, midi_out: MidiOut) -> tuple[str, ...]:
    """Return what leads between the controllers, and what does not."""
    if boards == 1:
        return ()
    by_usb = midi_out is MidiOut.USB
    lead = "USB lead to one hub" if by_usb else "DIN lead to an input of its own, or all to one merger"
    return (
        f"each of the {boards} boards sends MIDI by itself: {boards} times a {lead}",
        "no wire of the scan leads from one board to another; each has a sketch, a job and a fuse of its own",
        "shoes go to whichever board is nearest: its converter channels are reckoned to every board",
    )
