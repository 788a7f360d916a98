"""The rows of the shoe table, and of the tables of stages and stretches behind stepped shoes and the roller."""

from __future__ import annotations

from dataclasses import dataclass

from retrofit.catalogue.parts import Board
from retrofit.circuits.converter_reading import noise_counts, whole_readings
from retrofit.firmware.ladder_rows import counts_of, ladder_bounds, ladder_rows, stages_of
from retrofit.firmware.rows import LANE_BITS, LadderRow, ShoeKind, ShoeRow, StageRow, TableError
from retrofit.firmware.shoe_curve import ShoeCurve, ShoeCurveError, shoe_curve
from retrofit.midi.messages import COARSE_BITS, CONTROL_CHANGE, ShoeMessage
from retrofit.plan.model import ConversionPlan, PointPlan
from retrofit.scan.addresses import ConverterAddress
from retrofit.scan.layout import ScanLayout
from retrofit.survey.contacts import ShoePoint, ShoeSensor, StepStyle
from retrofit.timing.shoe_promises import readings_in_a_row

STAGES_MIN = 2


@dataclass(frozen=True, slots=True)
class ShoeRows:
    """The rows of every shoe that sends, in the plan's order, and the stages and stretches that they refer to."""

    shoes: tuple[ShoeRow, ...]
    stages: tuple[StageRow, ...]
    ladders: tuple[LadderRow, ...]


def shoe_rows(plan: ConversionPlan, board: Board) -> ShoeRows:
    """Return the rows of a plan's shoes.

    Raises `TableError` naming the shoe when it can be read neither by a converter nor by stages.
    """
    shoes: list[ShoeRow] = []
    stages: list[StageRow] = []
    ladders: list[LadderRow] = []
    for point in plan.points:
        if point.shoe is None or not point.point.takes_part:
            continue
        if own_stages := _stage_rows(point, plan):
            shoes.append(_stepped_row(point, point.shoe, len(stages), len(own_stages)))
            stages += own_stages
        elif point.point.shoe is not None and point.point.shoe.sensor is ShoeSensor.LADDER:
            row, stretches = _ladder_row(point, point.shoe, plan, board, len(ladders))
            shoes.append(row)
            ladders += stretches
        else:
            shoes.append(_converter_row(point, point.shoe, board))
    return ShoeRows(tuple(shoes), tuple(stages), tuple(ladders))


def _stage_rows(shoe: PointPlan, plan: ConversionPlan) -> list[StageRow]:
    contacts = _contacts_by_point(plan.layout)
    stages = [point for point in plan.points if point.point.stage_of == shoe.point.id]
    for stage in stages:
        if stage.point.id not in contacts:
            raise TableError(stage.point.id, "it has no address", "every stage is read", "fit it or shorten the shoe")
    return [
        StageRow(
            subject=stage.point.id,
            name=stage.point.name,
            place=str(stage.address),
            contact=contacts[stage.point.id],
        )
        for stage in stages
    ]


def _contacts_by_point(layout: ScanLayout) -> dict[str, int]:
    return {
        point_id: lane.index * LANE_BITS + bit
        for lane in layout.lanes
        for bit, point_id in enumerate(lane.points)
        if point_id is not None
    }


def _stepped_row(point: PointPlan, message: ShoeMessage, first_stage: int, stage_count: int) -> ShoeRow:
    if stage_count < STAGES_MIN:
        raise TableError(point.point.id, "it has one stage", "two stages or more make a shoe", "call it a stop")
    selective = point.point.shoe is not None and point.point.shoe.style is StepStyle.SELECTIVE
    return ShoeRow(
        subject=point.point.id,
        name=point.point.name,
        place=f"{stage_count} stages",
        kind=ShoeKind.SELECTIVE if selective else ShoeKind.PROGRESSIVE,
        status=_status(message),
        controller=message.controller,
        stage_count=stage_count,
        first_stage=first_stage,
    )


def _on_converter(point: PointPlan) -> tuple[ShoePoint, ConverterAddress]:
    shoe, address = point.point.shoe, point.address
    if shoe is None or not isinstance(address, ConverterAddress):
        raise TableError(
            point.point.id,
            f"its address is {address}",
            "a shoe is read by a converter or by stages",
            "choose another sensor or free a converter pin",
        )
    return shoe, address


def _converter_row(point: PointPlan, message: ShoeMessage, board: Board) -> ShoeRow:
    shoe, address = _on_converter(point)
    bits = converter_bits(board)
    curve = _curve(point.point.id, shoe, board)
    lowest, highest = counts_of(whole_readings(shoe), bits)
    return ShoeRow(
        subject=point.point.id,
        name=point.point.name,
        place=str(address),
        kind=ShoeKind.CONVERTER,
        status=_status(message),
        controller=message.controller,
        fine=int(message.bits > COARSE_BITS),
        converter=address.channel,
        hysteresis=curve.hysteresis_counts,
        lowest=lowest,
        highest=highest,
        curve_counts=curve.counts,
        curve_values=curve.values,
    )


def _ladder_row(
    point: PointPlan, message: ShoeMessage, plan: ConversionPlan, board: Board, first: int
) -> tuple[ShoeRow, list[LadderRow]]:
    shoe, address = _on_converter(point)
    bits = converter_bits(board)
    group = next(group for group in plan.job.groups if group.id == point.point.group)
    stages = stages_of(point, shoe, group.wiring.contact_resistance.value or 0.0)
    period_us = next(group.period_us for group in plan.groups if group.id == point.point.group)
    lowest, highest = ladder_bounds(stages, bits)
    row = ShoeRow(
        subject=point.point.id,
        name=point.point.name,
        place=str(address),
        kind=ShoeKind.LADDER,
        status=_status(message),
        controller=message.controller,
        converter=address.channel,
        stage_count=len(stages),
        first_stage=first,
        hysteresis=readings_in_a_row(period_us),
        lowest=lowest,
        highest=highest,
    )
    return row, ladder_rows(point, stages, bits)


def converter_bits(board: Board) -> int:
    """Return how many bits the board's converter gives."""
    return round(board.figures["converter_bits"].usual)


def _curve(point_id: str, shoe: ShoePoint, board: Board) -> ShoeCurve:
    bits = converter_bits(board)
    noise = noise_counts(shoe, bits, board.figures["supply"].least)
    try:
        return shoe_curve(shoe, bits, noise)
    except ShoeCurveError as error:
        raise TableError(point_id, error.found, error.allowed, error.remedy) from error


def _status(message: ShoeMessage) -> int:
    return CONTROL_CHANGE | (message.channel - 1)
