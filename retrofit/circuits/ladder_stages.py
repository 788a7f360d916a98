"""A stepped shoe on one converter channel: what each position reads, and whether neighbours can be told apart.

Readings are fractions of the converter's full scale; its reference is the supply that feeds the ladder, so that the
supply itself cancels.  A position whose resistors come to R below a resistor T to the supply reads R / (R + T).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

from retrofit.circuits.converter_reading import with_break_margin
from retrofit.circuits.eseries_values import Series, values_between
from retrofit.circuits.ladder import READ_COUNTS
from retrofit.survey.contacts import StepStyle
from retrofit.survey.ladder import Ladder, LadderForm

STEPS_OF_VALUE = 127
_TO_SUPPLY_TRIED = (100.0, 10_000.0)
"""Ohms; above the greater one a converter no longer reads rightly (Atmel 2549, analogue input circuitry)."""


@dataclass(frozen=True, slots=True)
class LadderStage:
    """A position of the shoe: its value from 0 to 127, None when it keeps the last one, and its reading at corners."""

    name: str
    value: int | None
    low: float
    usual: float
    high: float


@dataclass(frozen=True, slots=True)
class StageGap:
    """Two neighbouring positions and the counts that lie between their worst readings, less the noise."""

    lower: LadderStage
    upper: LadderStage
    counts: float

    @property
    def told_apart(self) -> bool:
        """True when the converter tells the two apart."""
        return self.counts >= READ_COUNTS


def ladder_stages(ladder: Ladder, style: StepStyle, contact_ohms: float = 0.0) -> tuple[LadderStage, ...]:
    """Return every position by rising reading; none when it can be worked out neither by readings nor by resistors.

    A progressive shoe with no contact closed stands at its closed end.  A selective one then stands between two
    contacts and keeps its value; without a reading of that, measured stages have no such position.
    """
    found = _measured(ladder, style) if ladder.stage_readings else _worked_out(ladder, style, contact_ohms)
    return tuple(sorted(found, key=lambda stage: stage.usual))


def _value(position: int, contacts: int) -> int:
    """Return the value of a position, rounded half up as the firmware does for other stepped shoes."""
    return (2 * position * STEPS_OF_VALUE + contacts) // (2 * contacts)


def _measured(ladder: Ladder, style: StepStyle) -> list[LadderStage]:
    first = 0 if style is StepStyle.PROGRESSIVE else 1
    contacts = len(ladder.stage_readings) - 1 + first
    stages = [
        LadderStage(_name(position), _value(position, contacts), reading, reading, reading)
        for position, reading in enumerate(ladder.stage_readings, first)
    ]
    if style is StepStyle.SELECTIVE and ladder.open_reading is not None:
        reading = ladder.open_reading
        stages.append(LadderStage(_name(0), None, reading, reading, reading))
    return stages


def _name(position: int) -> str:
    return f"contact {position}" if position else "no contact"


def _worked_out(ladder: Ladder, style: StepStyle, contact_ohms: float) -> list[LadderStage]:
    top, tolerance = ladder.to_supply.value, ladder.tolerance
    resistors = [each.value for each in ladder.resistors if each.value is not None]
    if top is None or tolerance is None or len(resistors) < len(ladder.resistors) or not all((top, *resistors)):
        return []
    return _stages_of(ladder.form, style, resistors, top, tolerance, contact_ohms)


def _stages_of(
    form: LadderForm, style: StepStyle, resistors: list[float], top: float, tolerance: float, contact_ohms: float
) -> list[LadderStage]:
    contacts = len(resistors)
    stages = []
    for position in range(contacts + 1):
        ohms = _ohms(form, style, resistors, position)
        closed = position if form is LadderForm.SHORTING and style is StepStyle.PROGRESSIVE else min(position, 1)
        keeps = position == 0 and style is StepStyle.SELECTIVE
        stages.append(
            LadderStage(
                _name(position),
                None if keeps else _value(position, contacts),
                _fraction(ohms * (1 - tolerance), top * (1 + tolerance)),
                _fraction(ohms, top),
                _fraction(ohms * (1 + tolerance) + closed * contact_ohms, top * (1 - tolerance)),
            )
        )
    return stages


def _ohms(form: LadderForm, style: StepStyle, resistors: list[float], position: int) -> float:
    """Return what is left between line and return at a position; infinite with nothing joined."""
    if form is LadderForm.SHORTING:
        return sum(resistors[position:])
    if position == 0:
        return math.inf
    joined = resistors[position - 1 : position] if style is StepStyle.SELECTIVE else resistors[:position]
    return 1 / sum(1 / ohms for ohms in joined)


def _fraction(ohms: float, top: float) -> float:
    return 1.0 if math.isinf(ohms) else ohms / (ohms + top)


def stage_gaps(stages: tuple[LadderStage, ...], converter_bits: int, noise_counts: float = 0.0) -> tuple[StageGap, ...]:
    """Return the gaps between neighbouring positions, which are by rising reading."""
    scale = 2**converter_bits
    return tuple(
        StageGap(lower, upper, (upper.low - lower.high) * scale - noise_counts) for lower, upper in pairwise(stages)
    )


def stretches(stages: tuple[LadderStage, ...], converter_bits: int) -> tuple[tuple[int, int | None], ...]:
    """Return for each position by rising reading the greatest count that is taken for it, and its value.

    Two neighbours part in the middle between their worst readings; the last stretch goes up to full scale.
    """
    full_scale = 2**converter_bits - 1
    ends = [math.floor((lower.high + upper.low) / 2 * full_scale) for lower, upper in pairwise(stages)]
    return tuple((end, stage.value) for end, stage in zip((*ends, full_scale), stages, strict=True))


def whole_ladder(stages: tuple[LadderStage, ...]) -> tuple[float, float]:
    """Return the bounds of what a ladder whose wires are whole reads; positions may reach an end of the range."""
    return with_break_margin(stages[0].low, stages[-1].high)


def best_to_supply(ladder: Ladder, style: StepStyle, converter_bits: int) -> tuple[float, float] | None:
    """Return the resistor of series E24 that parts the stages best, and the least gap with it in counts.

    None while the ladder's own resistors or their tolerance are not known.
    """
    resistors = [each.value for each in ladder.resistors if each.value]
    if len(resistors) < max(2, len(ladder.resistors)) or ladder.tolerance is None:
        return None
    tolerance = ladder.tolerance

    def least_gap(top: float) -> float:
        stages = _stages_of(ladder.form, style, resistors, top, tolerance, 0.0)
        by_reading = tuple(sorted(stages, key=lambda stage: stage.usual))
        return min(gap.counts for gap in stage_gaps(by_reading, converter_bits))

    best = max(values_between(Series.E24, *_TO_SUPPLY_TRIED), key=least_gap)
    return best, least_gap(best)
