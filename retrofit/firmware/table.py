"""From the conversion plan to the rows of the firmware's table: pure, and checked value by value."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil
from typing import Any

from retrofit.catalogue.parts import Board
from retrofit.firmware.description import job_revision, packed_description
from retrofit.firmware.group_rows import group_rows
from retrofit.firmware.link_sizes import link_sizes
from retrofit.firmware.midi_sizes import midi_sizes
from retrofit.firmware.rows import (
    LANE_BITS,
    BankRow,
    Drive,
    ExpanderRow,
    GroupRow,
    LaneRow,
    ListenedRow,
    MatrixRow,
    MessageRow,
    RunRow,
    RunSource,
    Sizes,
    Table,
    TableError,
)
from retrofit.firmware.shoe_rows import ShoeRows, converter_bits, shoe_rows
from retrofit.midi.messages import NOTE_OFF, NOTE_ON, PointMessage
from retrofit.midi.names import note_name
from retrofit.plan.model import ConversionPlan, PointPlan
from retrofit.scan.layout import BankLayout, Lane, ListenLayout, MatrixLayout, Run, ScanLayout, Source
from retrofit.survey.points import Point
from retrofit.survey.wishes import MatrixDrive

MESSAGE_BYTES_MAX = 3
FIRST_EXPANDER_ADDRESS = 0x20
"""Of an MCP23017 whose three address pins are low (Microchip DS20001952C, control byte)."""
IDLE_BUS_HZ = 100_000
"""Stands in the table of a console without expanders."""
IDLE_SPI_DIVIDER = 16
"""Stands in the table of a console without a chain, where the clock is never used."""


def build_table(plan: ConversionPlan, board: Board) -> Table:
    """Return the firmware's table for a plan on its board.

    Raises `TableError`, naming the group or point, when the plan holds what the table cannot.
    """
    points = {point.point.id: point for point in plan.points}
    shoes = shoe_rows(plan, board)
    groups = group_rows(plan, [shoe.subject for shoe in shoes.shoes])
    group_index = {group.subject: index for index, group in enumerate(groups)}
    messages = tuple(row for lane in plan.layout.lanes for row in _message_rows(lane, points))
    channels = _note_channels(messages)
    description = packed_description(plan)
    return Table(
        job_name=plan.job.instrument.name,
        job_digest=plan.digest,
        board=plan.board,
        sizes=_sizes(plan, board, groups, shoes, channels, description),
        runs=tuple(_run_row(run, plan.layout, board, group_index) for run in plan.layout.runs),
        groups=groups,
        lanes=tuple(_lane_row(lane, plan) for lane in plan.layout.lanes),
        messages=messages,
        matrices=tuple(_matrix_row(matrix, board) for matrix in plan.layout.matrices),
        banks=tuple(_bank_row(bank, board) for bank in plan.layout.banks),
        expanders=tuple(_expander_row(number) for number in plan.layout.expanders),
        listened=_listened_rows(plan.layout.listener, board),
        shoes=shoes.shoes,
        stages=shoes.stages,
        ladders=shoes.ladders,
        channels=channels,
        job_revision=job_revision(plan),
        job_description=description,
    )


def _sizes(
    plan: ConversionPlan,
    board: Board,
    groups: Sequence[GroupRow],
    shoes: ShoeRows,
    channels: Sequence[int],
    description: bytes,
) -> Sizes:
    layout, wanted, midi = plan.layout, plan.job.wanted, midi_sizes(plan)
    return Sizes(
        subject="the console",
        lane_count=len(layout.lanes),
        run_count=len(layout.runs),
        group_count=len(groups),
        matrix_count=len(layout.matrices),
        bank_count=len(layout.banks),
        expander_count=len(layout.expanders),
        **_listen_sizes(layout.listener, board, plan.tick_us),
        shoe_count=len(shoes.shoes),
        stage_rows=len(shoes.stages),
        ladder_rows=len(shoes.ladders),
        converter_bits=converter_bits(board),
        channel_count=len(channels),
        register_count=layout.registers,
        hold_slots=sum(group.hold_slots for group in groups),
        counter_planes=_counter_planes(groups),
        tick_us=plan.tick_us,
        spi_divider=_spi_divider(layout, board),
        bus_khz=(layout.bus_hz or IDLE_BUS_HZ) // 1000,
        bus_period_ticks=_bus_period_ticks(plan),
        power_on_ticks=ceil(wanted.power_on_wait_s * 1_000_000 / plan.tick_us),
        shoe_interval_ticks=ceil(wanted.shoe_interval_ms * 1000 / plan.tick_us),
        running_status=int(wanted.running_status),
        report_held=int(wanted.report_held_at_start),
        midi_wire=midi.wire,
        midi_usb=midi.usb,
        listen_stops=midi.listen_stops,
        panic_pistons=int(bool(midi.panic)),
        panic_first=midi.panic_contacts[0],
        panic_second=midi.panic_contacts[1],
        job_description_bytes=len(description),
        link=1,
        capture_lanes=link_sizes(board).capture_lanes,
        remap_rows=link_sizes(board).remap_rows,
    )


def _group_name(plan: ConversionPlan, group_id: str) -> str:
    return next((group.name for group in plan.groups if group.id == group_id), "")


def _lane_row(lane: Lane, plan: ConversionPlan) -> LaneRow:
    return LaneRow(
        subject=lane.group,
        name=_group_name(plan, lane.group),
        place=lane_place(lane),
        used=lane.used,
        invert=lane.invert,
    )


def lane_place(lane: Lane) -> str:
    """Return where a lane is read, in the words of the addresses."""
    match lane.source:
        case Source.CHAIN:
            return f"chain register {lane.place}"
        case Source.MATRIX:
            return f"matrix {lane.where} row {lane.place}"
        case Source.PORT:
            return f"port {lane.where}"
        case Source.MULTIPLEXER:
            return f"multiplexer bank {lane.where} input {lane.place}"
        case Source.EXPANDER:
            return f"expander {lane.where} port {'AB'[lane.place]}"
        case Source.LISTEN:
            return f"strobe {lane.place}, returns from {8 * (int(lane.where) - 1)}"


def _message_rows(lane: Lane, points: dict[str, PointPlan]) -> list[MessageRow]:
    return [
        MessageRow(subject=lane.group, place=f"{lane_place(lane)} bit {bit}, spare")
        if point_id is None
        else _message_row(points[point_id])
        for bit, point_id in enumerate(lane.points)
    ]


def _message_row(point: PointPlan) -> MessageRow:
    message = point.message if point.message and point.point.takes_part else PointMessage(b"", b"")
    return MessageRow(
        subject=point.point.id,
        name=point_words(point.point),
        place=str(point.address),
        on=_three_bytes(point.point.id, message.on),
        off=_three_bytes(point.point.id, message.off),
    )


def point_words(point: Point) -> str:
    """Return what the user calls a point; a key is called by its note."""
    if point.note is None:
        return point.name
    return f"{point.name} {note_name(point.note)}".strip()


def _three_bytes(point_id: str, message: bytes) -> tuple[int, int, int]:
    """Return a channel message filled up with zeros: a status of 8n to En, then data below 128 (MIDI 1.0)."""
    status, data = message[:1], message[1:]
    well_formed = not message or (0x80 <= status[0] <= 0xEF and data and max(data) <= 0x7F)
    if len(message) > MESSAGE_BYTES_MAX or not well_formed:
        raise TableError(
            point_id,
            f"the message is {message.hex(' ')}",
            "a channel message of two or three bytes is allowed",
            "choose another message for this point",
        )
    first, second, third = message.ljust(MESSAGE_BYTES_MAX, b"\0")
    return first, second, third


def _note_channels(messages: Sequence[MessageRow]) -> tuple[int, ...]:
    """Channels (0-15) on which notes are sent: those are silenced at the start."""
    sent = [message[0] for row in messages for message in (row.on, row.off)]
    return tuple(sorted({status & 0x0F for status in sent if status & 0xF0 in (NOTE_ON, NOTE_OFF)}))


def _run_row(run: Run, layout: ScanLayout, board: Board, group_index: dict[str, int]) -> RunRow:
    return RunRow(
        subject=run.group,
        place=f"from {lane_place(layout.lanes[run.first_lane])}",
        source=RunSource[run.source.name],
        where=_run_where(run, layout, board),
        first_lane=run.first_lane,
        lane_count=run.lane_count,
        group=group_index[run.group],
        first_place=layout.lanes[run.first_lane].place,
    )


def _run_where(run: Run, layout: ScanLayout, board: Board) -> int:
    match run.source:
        case Source.CHAIN:
            return 0
        case Source.MATRIX:
            return [str(matrix.number) for matrix in layout.matrices].index(run.where)
        case Source.PORT:
            return _port_index(run.where, board, run.group)
        case Source.MULTIPLEXER:
            return [bank.number for bank in layout.banks].index(int(run.where))
        case Source.EXPANDER:
            return layout.expanders.index(int(run.where))
        case Source.LISTEN:
            return int(run.where) - 1


def _port_index(port: str, board: Board, subject: str) -> int:
    if port not in board.ports:
        raise TableError(
            subject,
            f"port {port} is asked for",
            f"the board {board.id} has the ports {', '.join(board.ports)}",
            "plan the job again for this board",
        )
    return board.ports.index(port)


def _matrix_row(matrix: MatrixLayout, board: Board) -> MatrixRow:
    subject = f"matrix {matrix.number}"
    rows = [_pin_place(pin, board, subject) for pin in matrix.row_pins]
    return MatrixRow(
        subject=subject,
        place=f"columns on port {matrix.column_port}, rows on pins {', '.join(matrix.row_pins)}",
        column_port=_port_index(matrix.column_port, board, subject),
        row_port=tuple(port for port, _ in rows),
        row_mask=tuple(mask for _, mask in rows),
        settle_us=ceil(matrix.settle_us),
        drive=Drive.PUSH_PULL if matrix.drive is MatrixDrive.PUSH_PULL else Drive.FLOATING,
        precharge_us=ceil(matrix.precharge_us),
        column_mask=(1 << matrix.columns) - 1,
    )


def _listened_rows(layout: ListenLayout | None, board: Board) -> tuple[ListenedRow, ...]:
    if layout is None:
        return ()
    return tuple(
        ListenedRow(
            subject=f"returns {LANE_BITS * bank} to {LANE_BITS * bank + LANE_BITS - 1}",
            place=f"on port {port}",
            port=_port_index(port, board, "the returns"),
            bits=bits,
        )
        for bank, (port, bits) in enumerate(zip(layout.return_ports, layout.return_bits, strict=True))
    )


def _listen_sizes(layout: ListenLayout | None, board: Board, tick_us: int) -> dict[str, Any]:
    if layout is None:
        return {}
    return {
        "listen_ports": len(layout.return_ports),
        "listen_strobe_port": _port_index(layout.strobe_port, board, "the strobes"),
        "listen_strobes": len(layout.strobe_pins),
        "listen_active_low": int(layout.active_low),
        "listen_settle_us": ceil(layout.settle_us),
        "listen_silent_ticks": ceil(layout.silent_us / tick_us),
    }


def _bank_row(bank: BankLayout, board: Board) -> BankRow:
    subject = f"multiplexer bank {bank.number}"
    select = [_pin_place(pin, board, subject) for pin in bank.select_pins]
    return BankRow(
        subject=subject,
        place=f"commons on port {bank.common_port}, select lines on pins {', '.join(bank.select_pins)}",
        common_port=_port_index(bank.common_port, board, subject),
        select_port=tuple(port for port, _ in select),
        select_mask=tuple(mask for _, mask in select),
        settle_us=ceil(bank.settle_us),
    )


def _expander_row(number: int) -> ExpanderRow:
    return ExpanderRow(subject=f"expander {number}", address=FIRST_EXPANDER_ADDRESS + number - 1)


def _bus_period_ticks(plan: ConversionPlan) -> int:
    """Return the ticks of one round of the bus, which are those of every group that is read by it."""
    on_bus = {run.group for run in plan.layout.runs if run.source is Source.EXPANDER}
    paces = {(group.divider_log2, group.phase) for group in plan.groups if group.id in on_bus}
    if not paces:
        return 1
    if len(paces) > 1 or next(iter(paces))[1] != 0:
        raise TableError(
            "the expanders",
            f"their groups are sampled every {' and '.join(f'{1 << n} ticks from {p}' for n, p in sorted(paces))}",
            "all groups on one bus are sampled together, from tick 0",
            "plan the job again",
        )
    return 1 << next(iter(paces))[0]


def _pin_place(name: str, board: Board, subject: str) -> tuple[int, int]:
    pin = board.pin(name)
    if pin is None:
        raise TableError(subject, f"pin {name} is asked for", f"the board {board.id} has no such pin", "plan again")
    return _port_index(pin.port, board, subject), 1 << pin.bit


def _spi_divider(layout: ScanLayout, board: Board) -> int:
    if layout.spi_hz is None:
        return IDLE_SPI_DIVIDER
    divider = round(board.clock_hz / layout.spi_hz)
    if board.clock_hz // divider != layout.spi_hz or divider not in board.spi_dividers:
        raise TableError(
            "the chain",
            f"its clock is {layout.spi_hz} Hz",
            f"the board divides {board.clock_hz} Hz by {', '.join(map(str, board.spi_dividers))}",
            "choose one of these clocks",
        )
    return divider


def _counter_planes(groups: Sequence[GroupRow]) -> int:
    """Bits that count up to the longest row of agreeing samples; one when nothing is counted."""
    longest = max((max(group.press_count, group.release_count) for group in groups), default=1)
    return max(longest.bit_length(), 1)
