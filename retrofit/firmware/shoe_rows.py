"""The rows of the shoe table, and of the table of stages behind stepped shoes and the crescendo roller."""

from __future__ import annotations

from retrofit.catalogue.parts import Board
from retrofit.firmware.rows import LANE_BITS, ShoeKind, ShoeRow, StageRow, TableError
from retrofit.firmware.shoe_curve import ShoeCurve, ShoeCurveError, shoe_curve
from retrofit.midi.messages import CONTROL_CHANGE, ShoeMessage
from retrofit.plan.model import ConversionPlan, PointPlan
from retrofit.scan.addresses import ConverterAddress
from retrofit.scan.layout import ScanLayout
from retrofit.survey.contacts import ShoePoint, StepStyle

STAGES_MIN = 2


def shoe_rows(plan: ConversionPlan, board: Board) -> tuple[tuple[ShoeRow, ...], tuple[StageRow, ...]]:
    """Return a row for each shoe that sends, in the plan's order, and the stages that they refer to.

    Raises `TableError` naming the shoe when it can be read neither by a converter nor by stages.
    """
    shoes: list[ShoeRow] = []
    stages: list[StageRow] = []
    for point in plan.points:
        if point.shoe is None or not point.point.takes_part:
            continue
        own_stages = _stage_rows(point, plan)
        shoes.append(
            _stepped_row(point, point.shoe, len(stages), len(own_stages))
            if own_stages
            else _converter_row(point, point.shoe, board)
        )
        stages += own_stages
    return tuple(shoes), tuple(stages)


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


def _converter_row(point: PointPlan, message: ShoeMessage, board: Board) -> ShoeRow:
    shoe, address = point.point.shoe, point.address
    if shoe is None or not isinstance(address, ConverterAddress):
        raise TableError(
            point.point.id,
            f"its address is {address}",
            "a shoe is read by a converter or by stages",
            "choose another sensor or free a converter pin",
        )
    curve = _curve(point.point.id, shoe, converter_bits(board))
    return ShoeRow(
        subject=point.point.id,
        name=point.point.name,
        place=str(address),
        kind=ShoeKind.CONVERTER,
        status=_status(message),
        controller=message.controller,
        converter=address.channel,
        hysteresis=curve.hysteresis_counts,
        curve_counts=curve.counts,
        curve_values=curve.values,
    )


def converter_bits(board: Board) -> int:
    """Return how many bits the board's converter gives."""
    return round(board.figures["converter_bits"].usual)


def _curve(point_id: str, shoe: ShoePoint, bits: int) -> ShoeCurve:
    try:
        return shoe_curve(shoe, bits)
    except ShoeCurveError as error:
        raise TableError(point_id, error.found, error.allowed, error.remedy) from error


def _status(message: ShoeMessage) -> int:
    return CONTROL_CHANGE | (message.channel - 1)
