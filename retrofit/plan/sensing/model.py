"""What the plan says of sensing: circuits ranked and refused, the tap, what the organ feels, isolation and power."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from retrofit.circuits.branch import Branch
from retrofit.circuits.own_rail import Stage
from retrofit.circuits.sense.dead_rail import Bleeder
from retrofit.circuits.sense.design import Judged, SenseDesign, Verdict
from retrofit.circuits.sense.line import Line
from retrofit.survey.base import Ternary


class BoardState(StrEnum):
    """What may become of our board while the organ plays on."""

    ON = "board on"
    OFF = "board off"
    OPEN = "our ground lead off"
    SHORTED = "input shorted to our ground"
    SHORTED_TO_RAIL = "input shorted to our supply"
    USB_PULLED = "USB lead pulled"


@dataclass(frozen=True, slots=True)
class StateFelt:
    """What one line, and all lines of the group held at once, feel in a state of our board; None where unknown."""

    state: BoardState
    line_ua: float | None
    group_ma: float | None


@dataclass(frozen=True, slots=True)
class TapQuestion:
    """A question about where a line is touched, its answer, the answer that is wanted, and what the MIDI does else."""

    id: str
    question: str
    answer: Ternary
    wanted: Ternary
    otherwise: str

    @property
    def settled(self) -> bool:
        """True when the answer is the wanted one."""
        return self.answer is self.wanted


@dataclass(frozen=True, slots=True)
class GroupSensing:
    """How the lines of one group are sensed.

    `line` is what the circuits were worked out for.  `ranked` are the permitted circuits, best first; `refused` those
    with reasons against them.  `chosen` is None when nothing can be chosen yet.  `wish_refused` says why a wish was not
    followed.
    """

    group: str
    line: Line
    line_class: str | None
    chosen: SenseDesign | None
    ranked: tuple[SenseDesign, ...]
    refused: tuple[SenseDesign, ...]
    tap: tuple[TapQuestion, ...] = ()
    feels: tuple[StateFelt, ...] = ()
    wish_refused: str = ""

    @property
    def verdict(self) -> Verdict:
        """The verdict of the chosen circuit; unknown when none is chosen and nothing was refused for good."""
        if self.chosen is not None:
            return self.chosen.verdict
        open_still = any(design.verdict is Verdict.UNKNOWN for design in self.ranked)
        return Verdict.UNKNOWN if open_still or not (self.ranked or self.refused) else Verdict.FAILS

    @property
    def midi_otherwise(self) -> tuple[str, ...]:
        """What the MIDI will do because of where the lines are touched."""
        return tuple(
            question.otherwise
            for question in self.tap
            if question.answer is not Ternary.UNKNOWN and not question.settled
        )


@dataclass(frozen=True, slots=True)
class SupplyFelt:
    """What a supply of the organ feels of every line that it feeds: current, sag and the load of its fuse."""

    supply: str
    groups: tuple[str, ...]
    total_ma: float | None
    sag: Judged
    fuse: Judged


@dataclass(frozen=True, slots=True)
class Crossing:
    """A conductor that would join our side to the world outside: when, and what makes it safe (or that nothing does).

    `rated` is True for a rated part or no conductor at all, False for a bare conductor, None when nobody has said.
    """

    conductor: str
    when: str
    rated: bool | None
    part: str


@dataclass(frozen=True, slots=True)
class HumPath:
    """A way for mains current through the organ's return: its amperes, and what each tenth of an ohm makes of it.

    `db` is against a signal of 100 mV, for 0.1 Ω that the signal shares.
    """

    way: str
    amps: float
    db: float


@dataclass(frozen=True, slots=True)
class IsolationPlan:
    """Whose returns our ground is joined to, every conductor that crosses to the outside, and the hum it may bring."""

    joined_groups: tuple[str, ...]
    isolated_groups: tuple[str, ...]
    crossings: tuple[Crossing, ...]
    hum: tuple[HumPath, ...]


@dataclass(frozen=True, slots=True)
class GroupBranch:
    """The branch of our supply that feeds one group's registers and pull-ups; None where no wire and fuse serve it."""

    group: str
    load_ma: float
    branch: Branch | None


@dataclass(frozen=True, slots=True)
class PowerPlan:
    """Our own supply: stages of first power, what it gives at most, branches, and the rail while it is dead.

    `dead_rail` is what held lines make of our rail while our supply is off, before a bleeder; None when they feed
    nothing into it.  `bleeder` cures it.
    """

    stages: tuple[Stage, ...]
    greatest_ma: float
    branches: tuple[GroupBranch, ...]
    dead_rail: Judged | None
    bleeder: Bleeder | None
