"""The rows of a stepped shoe on a ladder: its stretches of converter counts."""

from __future__ import annotations

from retrofit.circuits.ladder_stages import LadderStage, ladder_stages, stretches, whole_ladder
from retrofit.firmware.rows import LADDER_KEEP, LadderRow, TableError
from retrofit.plan.model import PointPlan
from retrofit.survey.contacts import ShoePoint


def stages_of(point: PointPlan, shoe: ShoePoint, contact_ohms: float) -> tuple[LadderStage, ...]:
    """Return the positions of a shoe on a ladder by rising reading.  Raises `TableError` where they are not known."""
    stages = ladder_stages(shoe.ladder, shoe.style, contact_ohms) if shoe.ladder else ()
    if not stages:
        raise TableError(
            point.point.id,
            "what its contacts read is not known",
            "a ladder has a reading for each contact, or all of its resistors and their tolerance",
            "measure the reading of each contact",
        )
    return stages


def ladder_rows(point: PointPlan, stages: tuple[LadderStage, ...], bits: int) -> list[LadderRow]:
    """Return a row for each stretch of readings, rising."""
    return [
        LadderRow(
            subject=point.point.id,
            name=point.point.name,
            place=stage.name,
            last=last,
            value=LADDER_KEEP if value is None else value,
        )
        for stage, (last, value) in zip(stages, stretches(stages, bits), strict=True)
    ]


def ladder_bounds(stages: tuple[LadderStage, ...], bits: int) -> tuple[int, int]:
    """Return the least and the greatest count of a ladder whose wires are whole."""
    return counts_of(whole_ladder(stages), bits)


def counts_of(bounds: tuple[float, float], bits: int) -> tuple[int, int]:
    """Return bounds that are fractions of full scale as counts."""
    full_scale = 2**bits - 1
    return round(bounds[0] * full_scale), round(bounds[1] * full_scale)
