"""The conversion plan: everything that is written, drawn or tested comes from this one frozen value."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from enum import StrEnum

from retrofit.midi.messages import PointMessage, ShoeMessage
from retrofit.plan.sensing.model import GroupSensing, IsolationPlan, PowerPlan, SupplyFelt
from retrofit.scan.addresses import Address
from retrofit.scan.layout import ScanLayout
from retrofit.survey.job import Job
from retrofit.survey.points import Point
from retrofit.timing.choose import ContactBounce
from retrofit.timing.debounce import Debounce
from retrofit.timing.latency import EventPath


class Severity(StrEnum):
    """How much a finding matters: an error stops the build, a warning asks for thought, a note informs."""

    ERROR = "error"
    WARNING = "warning"
    NOTE = "note"


@dataclass(frozen=True, slots=True)
class Finding:
    """What a rule says of a plan.

    `subject` is a dotted key or point id; `found` and `allowed` are sentences' parts with figures; `remedy` says what
    to do.  `waived` holds the user's reason when he accepted it.  An error that is `papers_only` withholds the papers
    that lead hands into the instrument, and lets the sketch be written.
    """

    rule: str
    severity: Severity
    subject: str
    found: str
    allowed: str
    remedy: str
    waived: str | None = None
    papers_only: bool = False

    @property
    def message(self) -> str:
        """One sentence: what was found; what is allowed; the remedy."""
        return f"{self.found}; {self.allowed}; {self.remedy}"


@dataclass(frozen=True, slots=True)
class PointPlan:
    """A point with its address and what it sends.  Exactly one of `message` and `shoe` is set, or neither."""

    point: Point
    address: Address | None
    message: PointMessage | None = None
    shoe: ShoeMessage | None = None


@dataclass(frozen=True, slots=True)
class GroupPlan:
    """A group's interface, sampling and guarantees.  Times are worst case, in microseconds.

    The group is sampled every `period_us`, which is the tick times two to the `divider_log2`, when the tick's number
    modulo that power equals `phase`.  Latencies count from the contact's last bounce to the end of its message on an
    idle wire.  `reasons` say why this debounce was chosen; `guarantees` are sentences with figures.  `path`, `bounce`
    and the delays of the sense circuit are what the latencies are made of; `path` is None for shoes on the converter.
    `gap_us` is the longest gap of a supply without a capacitor.
    """

    id: str
    name: str
    interface: str
    period_us: int
    divider_log2: int
    phase: int
    busy_us: float
    debounce: Debounce | None
    press_latency_us_max: float
    release_latency_us_max: float
    reasons: tuple[str, ...] = ()
    guarantees: tuple[str, ...] = ()
    path: EventPath | None = None
    bounce: ContactBounce | None = None
    circuit_press_us: float = 0.0
    circuit_release_us: float = 0.0
    gap_us: float = 0.0


@dataclass(frozen=True, slots=True)
class Move:
    """A point whose recorded address differs from where a fresh plan would put it."""

    point: str
    recorded: str
    proposed: str


@dataclass(frozen=True, slots=True)
class MessageChange:
    """A point whose recorded message differs from what a fresh plan would have it send, and whether it is wired."""

    point: str
    recorded: str
    proposed: str
    wired: bool


@dataclass(frozen=True, slots=True)
class ConversionPlan:
    """The plan of one job.

    `digest` identifies what the board does and what its points are called: same job, same digest.  `figures` are
    further results by name, each with its unit in the name.
    """

    job: Job
    digest: str
    board: str
    tick_us: int
    busy_us: float
    points: tuple[PointPlan, ...]
    groups: tuple[GroupPlan, ...]
    layout: ScanLayout
    findings: tuple[Finding, ...] = ()
    moves: tuple[Move, ...] = ()
    figures: dict[str, float] = field(default_factory=dict)
    sensing: tuple[GroupSensing, ...] = ()
    supplies_felt: tuple[SupplyFelt, ...] = ()
    isolation: IsolationPlan | None = None
    power: PowerPlan | None = None
    message_changes: tuple[MessageChange, ...] = ()

    @property
    def errors(self) -> tuple[Finding, ...]:
        """Findings that stop a build."""
        return tuple(finding for finding in self._standing_errors if not finding.papers_only)

    @property
    def withholding(self) -> tuple[Finding, ...]:
        """Findings that withhold the papers which lead hands into the instrument."""
        return tuple(finding for finding in self._standing_errors if finding.papers_only)

    @property
    def _standing_errors(self) -> Iterator[Finding]:
        return (f for f in self.findings if f.severity is Severity.ERROR and f.waived is None)
