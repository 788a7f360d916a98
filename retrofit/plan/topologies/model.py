"""What a comparison says: counts, times, figures with their limits, refusals, and which way is recommended and why."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from retrofit.circuits.sense.design import Judged, Verdict
from retrofit.plan.topologies.kinds import Kind


class Cost(StrEnum):
    """What the parts cost, told by their number alone."""

    LOW = "low"
    MEDIUM = "medium"
    HIGH = "high"


MOST_PARTS = {Cost.LOW: 20, Cost.MEDIUM: 100}
"""The most parts of a cost class; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Counts:
    """What has to be bought, wired and soldered.

    `places` are the contacts that could be read, `taken` those that are or are kept free in the order of wiring;
    `watched` are spare places that are read in the same bytes.  `lines` are wires from the contacts, returns with
    them; `networks` are pull-ups in packages of eight.  `diodes` are those to be fitted.  `pins` are the board's.
    """

    places: int
    taken: int
    devices: int = 0
    networks: int = 0
    capacitors: int = 0
    diodes: int = 0
    lines: int = 0
    joints: int = 0
    pins: int = 0
    lanes: int = 0

    @property
    def spare(self) -> int:
        """Places that nothing is wired to."""
        return self.places - self.taken

    @property
    def watched(self) -> int:
        """Spare places that are read with every scan, and whose bits the firmware leaves aside."""
        return self.spare if self.lanes else 0

    @property
    def parts(self) -> int:
        """Parts to buy."""
        return self.devices + self.networks + self.capacitors + self.diodes

    @property
    def cost(self) -> Cost:
        """The cost class of so many parts."""
        return next((cost for cost, most in MOST_PARTS.items() if self.parts <= most), Cost.HIGH)


@dataclass(frozen=True, slots=True)
class ScanTime:
    """How long one reading of every contact takes, in microseconds, alone on the board.

    `settle_us` is the wait of each of `steps` steps, 0 where none is needed.  `in_background` is True where the wire
    works while the controller does other things.
    """

    scan_us: float
    settle_us: float = 0.0
    steps: int = 1
    in_background: bool = False


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why a way of reading is refused, and what would help."""

    found: str
    remedy: str

    @property
    def sentence(self) -> str:
        """Both in one sentence."""
        return f"{self.found}; {self.remedy}"


@dataclass(frozen=True, slots=True)
class Memory:
    """Bytes of the firmware, estimated."""

    ram: int
    flash: int


@dataclass(frozen=True, slots=True)
class Candidate:
    """One way of reading one group.

    `wish` is the word by which a job asks for it, None where the firmware has no front end for it.  `cable` says what
    the cable does to it.  `assumptions` are typical values that stand for readings nobody took.
    """

    kind: Kind
    group: str
    wish: str | None
    counts: Counts
    time: ScanTime
    memory: Memory
    judged: tuple[Judged, ...]
    cable: str
    refusals: tuple[Refusal, ...] = ()
    remarks: tuple[str, ...] = ()
    assumptions: tuple[str, ...] = ()

    @property
    def verdict(self) -> Verdict:
        """The worst of its figures; failing when it is refused."""
        if self.refusals:
            return Verdict.FAILS
        found = {judged.verdict for judged in self.judged}
        return next((v for v in (Verdict.FAILS, Verdict.UNKNOWN, Verdict.NARROW) if v in found), Verdict.GOOD)

    @property
    def open(self) -> bool:
        """True when it may be recommended: not refused, and the firmware reads it."""
        return not self.refusals and self.wish is not None


@dataclass(frozen=True, slots=True)
class GroupComparison:
    """Every way of reading one group; `recommended` is None when all are refused.

    `reason` says what decided.  `wished` is what the job asks for, `consequences` what that means beside the
    recommendation.
    """

    group: str
    contacts: int
    candidates: tuple[Candidate, ...]
    recommended: Kind | None
    reason: str
    wished: Kind | None = None
    consequences: tuple[str, ...] = ()

    def of(self, kind: Kind) -> Candidate:
        """Return the candidate of that kind."""
        return next(candidate for candidate in self.candidates if candidate.kind is kind)


@dataclass(frozen=True, slots=True)
class BoardLoad:
    """One controller with the groups that it reads, and what they take of it.

    `period_us` is how often it can read every contact, None when that takes too long.  `judged` are the
    figures of the wires that its groups share: slack and hold of the chain, the pull-up of a bus.
    """

    groups: tuple[str, ...]
    counts: Counts
    scan_us: float
    period_us: int | None
    memory: Memory
    problems: tuple[str, ...] = ()
    chain_hz: int | None = None
    judged: tuple[Judged, ...] = ()
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class WholeConsole:
    """A way of reading for every group, and the controllers that it takes.

    `boards` is empty when it is refused.  `without_front_end` are ways that the firmware does not read.
    `least_proven` is True when no fewer boards can hold it.  `joins` says what leads between the controllers.
    """

    name: str
    choice: dict[str, Kind]
    boards: tuple[BoardLoad, ...] = ()
    least_proven: bool = True
    joins: tuple[str, ...] = ()
    refusals: tuple[str, ...] = ()
    without_front_end: tuple[Kind, ...] = ()
    verdict: Verdict = Verdict.GOOD

    @property
    def open(self) -> bool:
        """True when it may be recommended: not refused, and the firmware reads it."""
        return not self.refusals and not self.without_front_end


@dataclass(frozen=True, slots=True)
class MarkerAdvice:
    """Marker bits at the far end of a chain: inputs tied to known levels, which show that every register is there.

    `registers` counts the one that is added.  `pattern` is that of its tied inputs, bit 7 first.
    """

    registers: int
    pattern: str
    added_us: float
    sentence: str


@dataclass(frozen=True, slots=True)
class Comparison:
    """The comparison of one job; `markers` holds one advice for each chain of what is recommended."""

    board: str
    groups: tuple[GroupComparison, ...]
    whole: tuple[WholeConsole, ...]
    recommended: WholeConsole | None
    reason: str
    markers: tuple[MarkerAdvice, ...] = ()
