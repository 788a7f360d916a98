"""How long a scan keeps the controller busy, and how long after its sampling instant a contact is handled.

The model follows the firmware: in each tick the chain first (loaded once; registers that are not due but lie before a
due one are shifted through; shifting ends after the last due register; when none is due it is left alone), then the
matrices, the ports, the multiplexers and the expanders, of which only bytes are looked at that the bus has brought
between ticks.  A byte of the chain is on the wire while the one before it is looked at, so that the slower of the two
sets the pace.  All figures are those of quiet contacts.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from itertools import groupby

from retrofit.catalogue.parts import FirmwareCosts
from retrofit.scan.layout import BankLayout, MatrixLayout, Run, ScanLayout, Source
from retrofit.scan.stretches import Stretch, chain_stretches
from retrofit.survey.wishes import MatrixDrive


@dataclass(frozen=True, slots=True)
class Busy:
    """Busy time in microseconds; the bus of the expanders works between ticks and is not in it (see `bus_round`).

    `total_us` is that of the worst tick.  `per_group_us` is what a group's own runs take when it is due, without what
    the tick itself costs.
    `until_lane_us` is, for each lane, the greatest time from its sampling instant (the chain's load; the driving of its
    row, since a contact that closes during the settle wait may still be missed; its port's reading) until it has been
    looked at.  `sample_jitter_us` is, for each lane, by how much that instant
    wanders within its tick because of what else is due before it; the wait for the main loop comes on top.
    """

    total_us: float
    per_group_us: dict[str, float]
    until_lane_us: tuple[float, ...]
    sample_jitter_us: tuple[float, ...]


def scan_cycles(
    layout: ScanLayout,
    costs: FirmwareCosts,
    spi_hz: int | None,
    clock_hz: int,
    dividers: Mapping[str, int],
    phases: Mapping[str, int],
) -> Busy:
    """Return the busy times of a layout.

    `dividers` maps a group to the logarithm of its divider (sampled every 2**n ticks) and `phases` to the tick modulo
    that divider in which it is due; a group that is not named is sampled every tick.
    """
    paces = {run.group: (dividers.get(run.group, 0), phases.get(run.group, 0)) for run in layout.runs}
    work = ScanWork(layout, costs, spi_hz, clock_hz, paces)
    ticks = range(1 << max(dividers.values(), default=0))
    due_sets = [_due(layout, tick, dividers, phases) for tick in ticks]
    return Busy(
        total_us=max(work.tick_us(due) for due in due_sets),
        per_group_us=work.per_group_us(),
        until_lane_us=work.until_lane_us(),
        sample_jitter_us=work.sample_jitter_us(due_sets),
    )


def _due(layout: ScanLayout, tick: int, dividers: Mapping[str, int], phases: Mapping[str, int]) -> set[str]:
    def is_due(group: str) -> bool:
        return tick % (1 << dividers.get(group, 0)) == phases.get(group, 0)

    return {run.group for run in layout.runs if is_due(run.group)}


class ScanWork:
    """The work of one layout's scan, for any set of groups that are due.

    `paces` maps each group to the logarithm of its divider and its phase: groups of one pace are asked for together,
    and neighbours among them on the chain are read as one.  A group that is not named has a pace of its own, which is
    the most that it can cost.
    """

    def __init__(
        self,
        layout: ScanLayout,
        costs: FirmwareCosts,
        spi_hz: int | None,
        clock_hz: int,
        paces: Mapping[str, tuple[int, int]] | None = None,
    ) -> None:
        self._layout = layout
        self._costs = costs
        self._pace: dict[str, Hashable] = {run.group: run.group for run in layout.runs}
        self._pace.update(paces or {})
        self._cycle_us = 1e6 / clock_hz
        self._byte = (8 + costs.chain_gap_halves / 2) * clock_hz / spi_hz + costs.chain_gap if spi_hz else 0.0
        self._settle = {str(m.number): self._matrix_waits(m) for m in layout.matrices}
        self._select = {str(bank.number): self._select_cycles(bank) for bank in layout.banks}
        self._chain = chain_stretches(layout, self._pace.__getitem__)
        self._others = [run for run in layout.runs if run.source is not Source.CHAIN]

    def tick_us(self, due: AbstractSet[str]) -> float:
        """Return the busy time of a tick in which these groups are due."""
        runs = sum(self._run(run) if run.group in due else self._costs.run_passed for run in self._others)
        return self._cycle_us * (self._opening(due) + runs)

    @property
    def chain_idle_cycles(self) -> float:
        """Cycles of each quiet byte in which the chain is waited for."""
        return max(0.0, self._byte - self._costs.chain_lane_loop)

    def per_group_us(self) -> dict[str, float]:
        """Return what the runs of each group take when it is due."""
        taken = dict.fromkeys((run.group for run in self._layout.runs), 0.0)
        for run in self._layout.runs:
            taken[run.group] += self.run_us(run)
        return taken

    def run_us(self, run: Run) -> float:
        """Return what a run takes when it is due."""
        return self._cycle_us * self._run(run)

    def together_us(self, runs: Sequence[Run]) -> float:
        """Return what runs take that are read as one when they are due."""
        if runs[0].source is Source.CHAIN:
            return self._cycle_us * self._chain_run(sum(run.lane_count for run in runs))
        return sum(self.run_us(run) for run in runs)

    def until_lane_us(self) -> tuple[float, ...]:
        """Return the time from sampling a lane until it has been looked at, with everything before it due."""
        cycles: list[float] = []
        passed = float(self._costs.chain_latch + self._costs.chain_lane_loop)
        for stretch in self._chain:
            cycles += [passed + self._chain_run(lane + 1) for lane in range(stretch.lane_count)]
            passed = cycles[-1]
        for run in self._others:
            cycles += [float(self._lane(run))] * run.lane_count
        return tuple(self._cycle_us * found for found in cycles)

    def sample_jitter_us(self, due_sets: Sequence[AbstractSet[str]]) -> tuple[float, ...]:
        """Return by how much the sampling instant of each lane wanders over the ticks in which it is due."""
        starts: dict[Run, list[float]] = {run: [] for run in self._others}
        for due in due_sets:
            passed = self._opening(due)
            for run in self._others:
                if run.group in due:
                    starts[run].append(passed)
                passed += self._run(run) if run.group in due else self._costs.run_passed
        return tuple(
            self._cycle_us * _spread(starts.get(run, ())) for run in self._layout.runs for _ in range(run.lane_count)
        )

    def _opening(self, due: AbstractSet[str]) -> float:
        """Cycles of a tick before its first matrix or port."""
        groups = {run.group for run in self._layout.runs}
        paces, due_paces = ({self._pace[group] for group in each} for each in (groups, groups & due))
        own = self._costs.group * len(paces) + self._costs.group_due * len(due_paces)
        if self._others:
            own += self._costs.beyond_chain
        if self._chain:
            own += self._costs.chain_search
        return self._costs.tick_base + own + self._chain_cycles(due)

    def _chain_cycles(self, due: AbstractSet[str]) -> float:
        """Cycles of the chain, from its load to the look at its last byte; nothing when none of its runs is due."""
        last = max((index for index, stretch in enumerate(self._chain) if stretch.group in due), default=-1)
        if last < 0:
            return 0.0
        passed = 0.0
        for is_due, each in groupby(self._chain[: last + 1], key=lambda stretch: stretch.group in due):
            stretches = list(each)
            passed += self._read(stretches) if is_due else self._skip(stretches)
        return self._costs.chain_latch + passed + self._costs.chain_lane_loop

    def _read(self, stretches: Iterable[Stretch]) -> float:
        return sum(self._chain_run(stretch.lane_count) for stretch in stretches)

    def _skip(self, stretches: Sequence[Stretch]) -> float:
        """Cycles of shifting through stretches that are not due, all found out behind the first byte."""
        skip = self._costs.chain_skip
        lanes = sum(stretch.lane_count for stretch in stretches)
        return max(self._byte, skip + len(stretches) * self._costs.run_passed) + (lanes - 1) * max(self._byte, skip)

    def _chain_run(self, lanes: int) -> float:
        """Cycles of the first lanes of a stretch that is due; its opening falls into the time of its first byte."""
        loop = self._costs.chain_lane_loop
        return max(self._byte, loop + self._costs.chain_run) + (lanes - 1) * max(self._byte, loop)

    def _run(self, run: Run) -> float:
        """Cycles of a run that is due."""
        if run.source is Source.CHAIN:
            return self._chain_run(run.lane_count)
        return self._costs.run + run.lane_count * self._lane(run)

    def _lane(self, run: Run) -> float:
        """Cycles of one row, port or selected input, with the wait that it needs."""
        match run.source:
            case Source.MATRIX:
                return self._costs.matrix_row + self._settle[run.where]
            case Source.MULTIPLEXER:
                return self._costs.bank_lane + self._select[run.where]
            case Source.EXPANDER:
                return float(self._costs.expander_lane)
            case Source.LISTEN:
                return float(self._costs.listen_lane)
            case _:
                return float(self._costs.port_lane)

    def _matrix_waits(self, matrix: MatrixLayout) -> float:
        """Cycles of what a row waits, and of what reading it takes beyond a floating row without pre-charge."""
        charging = self._costs.matrix_charge + matrix.precharge_us / self._cycle_us if matrix.precharge_us else 0.0
        driving = self._costs.matrix_driven if matrix.drive is MatrixDrive.PUSH_PULL else 0
        return matrix.settle_us / self._cycle_us + charging + driving

    def _select_cycles(self, bank: BankLayout) -> float:
        """Cycles of selecting an input of a bank and of waiting until its common has settled."""
        return len(bank.select_pins) * self._costs.select_line + bank.settle_us / self._cycle_us


def _spread(found: Iterable[float]) -> float:
    return max(found, default=0.0) - min(found, default=0.0)
