"""Both demonstration jobs, from their file to compiled tables and papers."""

from __future__ import annotations

import ctypes
from importlib.resources import as_file, files
from pathlib import Path

import pytest

from retrofit.catalogue.load import load_catalogue
from retrofit.firmware.sketch import sketch_files
from retrofit.papers.csv_text import csv_records
from retrofit.papers.message_list import message_list_csv
from retrofit.papers.wiring_schedule import wiring_schedule_csv
from retrofit.plan.build import plan_conversion
from retrofit.plan.model import ConversionPlan
from retrofit.scan.addresses import (
    ChainAddress,
    ContactAddress,
    ConverterAddress,
    ExpanderAddress,
    MatrixAddress,
    MultiplexerAddress,
    PinAddress,
)
from retrofit.scan.layout import Source
from retrofit.survey.load import load_job
from tests.tools import require_tool
from tests.writer.compiling import compile_table

DEMOS = ("gutted_home", "theatre")


@pytest.fixture(scope="module", params=DEMOS)
def plan(request: pytest.FixtureRequest) -> ConversionPlan:
    """Return the plan of a demonstration job."""
    with as_file(files("retrofit.demo").joinpath(f"{request.param}.toml")) as path:
        return plan_conversion(load_job(path), load_catalogue())


def _contact(plan: ConversionPlan, address: ContactAddress) -> int:
    """Return lane * 8 + bit of an address, found by the address alone."""
    match address:
        case ChainAddress(register, bit):
            wanted = (Source.CHAIN, "chain", register)
        case MatrixAddress(matrix, row, bit):
            wanted = (Source.MATRIX, str(matrix), row)
        case PinAddress(_, port, bit):
            wanted = (Source.PORT, port, 0)
        case MultiplexerAddress(multiplexer, number):
            bank, bit = divmod(multiplexer - 1, 8)
            wanted = (Source.MULTIPLEXER, str(bank + 1), number)
        case ExpanderAddress(expander, pin):
            half, bit = divmod(pin, 8)
            wanted = (Source.EXPANDER, str(expander), half)
    (lane,) = [lane for lane in plan.layout.lanes if (lane.source, lane.where, lane.place) == wanted]
    return lane.index * 8 + bit


def test_the_compiled_table_sends_what_the_plan_promises(plan: ConversionPlan, tmp_path: Path) -> None:
    """Read back from gcc's output, each point's row at its address has its bytes; all other rows are silent."""
    require_tool("gcc", "gcc")
    table = sketch_files(plan, "demo")["console_table.h"].decode()
    out = tmp_path / "tables.so"
    outcome = compile_table("gcc", table, tmp_path, "-shared", "-fPIC", "-o", str(out))
    assert (outcome.returncode, outcome.stderr) == (0, "")
    rows = (ctypes.c_uint8 * 6 * (8 * len(plan.layout.lanes))).in_dll(ctypes.CDLL(str(out)), "message_table")
    found = {row: bytes(message) for row, message in enumerate(rows) if any(message)}
    promised = {
        _contact(plan, point.address): point.message.on.ljust(3, b"\0") + point.message.off.ljust(3, b"\0")
        for point in plan.points
        if point.message and point.address and not isinstance(point.address, ConverterAddress)
    }
    assert found == promised
    assert len(promised) > 150


def test_each_wire_is_on_the_schedule_once(plan: ConversionPlan) -> None:
    """Line numbers run without a gap, each has one address, and each address one line."""
    records = csv_records(wiring_schedule_csv(plan))
    wired = {(int(record["line"]), record["board address"]) for record in records if record["line"]}
    assert sorted(line for line, _ in wired) == list(range(1, len(wired) + 1))
    assert len({address for _, address in wired}) == len(wired)
    assert {record["point"] for record in records} == {point.point.id for point in plan.points}


def test_the_message_list_has_the_bytes_of_the_plan(plan: ConversionPlan) -> None:
    """Every contact's bytes stand on the list as the plan has them."""
    records = {record["point"]: record for record in csv_records(message_list_csv(plan))}
    sending = [point for point in plan.points if point.message is not None]
    assert len(sending) > 150
    for point in sending:
        assert point.message is not None
        assert bytes.fromhex(records[point.point.id]["bytes when on"]) == point.message.on
        assert bytes.fromhex(records[point.point.id]["bytes when off"]) == point.message.off
