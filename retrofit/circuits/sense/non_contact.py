"""An added sensor that touches no wire of the organ: our own line, and nothing for the organ to feel."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from retrofit.circuits.pullup import (
    PULL_UP_OHMS,
    PULL_UP_TOLERANCE,
    PullUpResults,
    PullUpSense,
    judge_pull_up,
)
from retrofit.circuits.result import Span
from retrofit.circuits.sense.design import Felt, Judged, Part, SenseDesign
from retrofit.circuits.sense.limits import CONTACT_OHMS_NEW, LOW_MARGIN_GOOD_SHARE, LOW_MARGIN_SHARE
from retrofit.circuits.sense.line import Line
from retrofit.circuits.sense.logic_input import LogicInput

CIRCUIT = "added sensor that touches nothing"
NOTHING_FELT = Felt(0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
LOW_LEVEL, HIGH_LEVEL = "low level at the input", "high level at the input"


class AddedSensor(StrEnum):
    """What is fitted: a reed with a magnet on the key, or a switch with an open-drain output that sees one."""

    REED = "reed"
    OPEN_DRAIN = "open-drain"


@dataclass(frozen=True, slots=True)
class OpenDrain:
    """The output of a magnetic or optical switch: its greatest resistance while on and leakage while off."""

    on_ohms: float
    leakage_a: float


def design(
    line: Line,
    behind: LogicInput,
    *,
    sensor: AddedSensor = AddedSensor.REED,
    output: OpenDrain | None = None,
    reed_ohms: float | None = None,
    pull_up_ohms: float = PULL_UP_OHMS,
    tolerance: float = PULL_UP_TOLERANCE,
) -> SenseDesign:
    """Return the added sensor for any line, one that carries audio included: the line itself plays no part.

    `reed_ohms` is the greatest measured resistance of the closed reed; unmeasured, what a new contact may have is
    taken, and said.  `output` is what the data sheet of an open-drain switch prints; None is unknown.
    """
    is_reed = sensor is AddedSensor.REED
    pull_up = Part("from the input to our supply", "resistor", pull_up_ohms, "Ω", tolerance, "0.25 W")
    if is_reed:
        judged = _reed_judged(_sense(behind, pull_up_ohms, tolerance, 0.0), reed_ohms)
    elif output is None:
        judged = tuple(
            Judged(name, None, missing="the sensor's output, on and off") for name in (LOW_LEVEL, HIGH_LEVEL)
        )
    else:
        sense = _sense(behind, pull_up_ohms, tolerance, output.leakage_a)
        judged = _levels(judge_pull_up(sense, contact_ohms=output.on_ohms))
    return SenseDesign(
        circuit=CIRCUIT,
        looks_only=True,
        keyed_reads_high=False,
        parts=(_sensor_part(is_reed), pull_up),
        judged=judged,
        felt=NOTHING_FELT,
        remarks=_remarks(line),
    )


def _sense(behind: LogicInput, pull_up_ohms: float, tolerance: float, leakage_a: float) -> PullUpSense:
    return PullUpSense(
        supply=behind.supply,
        pull_up=Span.around(pull_up_ohms, tolerance),
        series=Span.exact(0.0),
        vil=behind.vil,
        vih=behind.vih,
        leakage_a=behind.leakage_a + leakage_a,
    )


def _reed_judged(sense: PullUpSense, reed_ohms: float | None) -> tuple[Judged, ...]:
    results = judge_pull_up(sense, contact_ohms=reed_ohms, contact_ohms_wanted=CONTACT_OHMS_NEW)
    return (
        *_levels(results),
        Judged("largest reed resistance that still reads closed", results.contact_tolerance),
        Judged("voltage on the open reed", results.wetting_volts),
        Judged("current through the closed reed", results.wetting_current),
    )


def _levels(results: PullUpResults) -> tuple[Judged, ...]:
    good_from = 100 * (LOW_MARGIN_GOOD_SHARE - LOW_MARGIN_SHARE)
    return Judged(LOW_LEVEL, results.low_level, good_from=good_from), Judged(HIGH_LEVEL, results.high_level)


def _sensor_part(is_reed: bool) -> Part:
    if is_reed:
        return Part("beside the key or tab, its magnet on the moving part", "reed switch", 1.0, "pieces", 0.0)
    return Part("beside the key or tab, its magnet or vane on the moving part", "open-drain switch", 1.0, "pieces", 0.0)


def _remarks(line: Line) -> tuple[str, ...]:
    audio = ("the line carries audio, which this sensor neither hears nor disturbs",) if line.carries_audio else ()
    place = "clamp or hook it to what is there already; try that no magnet moves a reed of its neighbour"
    return (*audio, "its line is ours from end to end: nothing of the organ's feels it in any state", place)
