"""Rules about the volts that were read: who feeds a line, and what is no longer a low voltage.  Both are locked."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from retrofit.plan.facts import Facts
from retrofit.plan.model import Severity
from retrofit.plan.rules.rule import Rule, Said
from retrofit.survey.bench import Reading
from retrofit.survey.contacts import GroupBase
from retrofit.survey.instrument import Supply
from retrofit.survey.problems import shown
from retrofit.survey.readings import Load
from retrofit.survey.wiring import Owner

DRIVEN_VOLTS = 0.5
"""More than this on a line comes from a source, less may be picked up or left over; common practice, no source."""
LOW_DC_VOLTS = 60.0
LOW_AC_VOLTS = 25.0
"""Lower values of extra-low voltage; in the dry no touch protection is wanted below them (IEC 60364-4-41 cl. 414)."""
SELV_WORDS = "the ceiling of SELV is 120 V DC or 50 V AC (IEC 61140)"


@dataclass(frozen=True, slots=True)
class _Read:
    """Volts that were read, and where they stand in the job file."""

    key: str
    volts: Reading
    ac: bool
    fed: bool = False

    @property
    def size(self) -> float:
        """The volts without their sign; 0 where no number was read."""
        return abs(self.volts.value or 0.0)

    @property
    def words(self) -> str:
        """The reading as it was typed."""
        return f"{shown(self.volts.raw)} {'AC' if self.ac else 'DC'} ({self.key})"


def _of_lines(group: GroupBase) -> Iterator[_Read]:
    wiring = group.wiring
    for word, state in (("idle", wiring.idle), ("keyed", wiring.keyed)):
        yield _Read(f"{word}.volts", state.volts, ac=False)
        yield _Read(f"{word}.ac_volts", state.ac_volts, ac=True)
    for number, reading in enumerate(wiring.readings):
        fed = reading.load is Load.TO_SUPPLY
        yield _Read(f"readings.#{number + 1}.volts", reading.volts, ac=False, fed=fed)
        yield _Read(f"readings.#{number + 1}.ac_volts", reading.ac_volts, ac=True, fed=fed)


def _of_supply(supply: Supply) -> Iterator[_Read]:
    for key in ("volts_rest", "volts_typical", "volts_full"):
        yield _Read(key, getattr(supply, key), ac=False)


def _driven(facts: Facts) -> Iterator[Said]:
    for group in facts.job.groups:
        driven = [read for read in _of_lines(group) if read.size > DRIVEN_VOLTS and not read.fed]
        if group.wiring.owner is Owner.US and driven:
            worst = max(driven, key=lambda read: read.size)
            yield Said(
                f"groups.{group.id}.wiring.owner",
                f"the lines are said to be ours, and {worst.words} was read on one{_more(driven)}",
                f"at most {DRIVEN_VOLTS:g} V on a line that nothing of the organ feeds",
                'write owner = "organ", or take off what feeds the line and read it again',
            )


def _more(found: list[_Read]) -> str:
    return f", and {len(found) - 1} more like it" if len(found) > 1 else ""


def _limit(read: _Read) -> float:
    return LOW_AC_VOLTS if read.ac else LOW_DC_VOLTS


def _not_low(facts: Facts) -> Iterator[Said]:
    places = [(f"groups.{group.id}.wiring", _of_lines(group)) for group in facts.job.groups]
    places += [(f"supplies.{supply.id}", _of_supply(supply)) for supply in facts.job.supplies]
    for subject, reads in places:
        high = [read for read in reads if read.size > _limit(read)]
        if high:
            worst = max(high, key=lambda read: read.size / _limit(read))
            yield Said(
                subject,
                f"{worst.words} was read{_more(high)}",
                f"at most {LOW_DC_VOLTS:g} V DC and {LOW_AC_VOLTS:g} V AC, the lower values of IEC 60364-4-41 cl. 414; "
                f"{SELV_WORDS}",
                "connect nothing here and leave it to a licensed person, local codes first; when it was mistyped, "
                "correct the reading",
            )


RULES = (
    Rule(
        "line-is-driven",
        "Volts were read on a line that is said to be ours",
        Severity.ERROR,
        "the owner of a group's lines with the volts that were read on them",
        _driven,
        locked=True,
        why=(
            "A line with volts on it is fed by something; a pull-up, a pin or a driven row of ours on it would feed "
            "back into the instrument, or be burnt by it."
        ),
        remedy="say that the organ owns the lines, or take off what feeds them and read them again",
    ),
    Rule(
        "voltage-not-low",
        "A voltage is not an extra-low one that may be touched",
        Severity.ERROR,
        "volts of lines and supplies with 60 V DC and 25 V AC (IEC 60364-4-41 cl. 414)",
        _not_low,
        locked=True,
        why=(
            "Above these values touching a bare line can injure or kill, and none of the circuits here is made to "
            "bear them."
        ),
        remedy="connect nothing, and leave this part to a licensed person; local codes come first",
    ),
)
