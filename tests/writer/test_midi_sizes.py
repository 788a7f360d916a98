"""Outlets, orders and the panic on their way from the job into the table and onto the sketch's page."""

from __future__ import annotations

from typing import Any

import pytest

from retrofit.firmware.midi_words import midi_sentences
from retrofit.firmware.rows import Table, TableError
from retrofit.firmware.table import build_table
from tests.writer.compiling import board
from tests.writer.plans import bench_job, bench_plan


def table_of(**wanted: Any) -> Table:
    """The bench console's table with these wishes."""
    return build_table(bench_plan(bench_job({"wanted": wanted})), board())


@pytest.mark.parametrize(("wish", "wire", "usb"), [("din", 1, 0), ("usb", 0, 1), ("both", 1, 1)])
def test_the_outlets_are_those_of_the_job(wish: str, wire: int, usb: int) -> None:
    """DIN, USB or both, as the job says."""
    sizes = table_of(midi_out=wish).sizes
    assert (sizes.midi_wire, sizes.midi_usb) == (wire, usb)


def test_the_panic_names_the_contacts_of_its_pistons() -> None:
    """Each number is lane * 8 + bit, and the message row there is that piston's."""
    table = table_of(panic=["pistons.p1", "pistons.p2"])
    rows = [table.messages[number] for number in (table.sizes.panic_first, table.sizes.panic_second)]
    assert table.sizes.panic_pistons == 1
    assert [row.subject for row in rows] == ["pistons.p1", "pistons.p2"]


def test_without_a_wish_there_is_no_panic_and_no_orders() -> None:
    """A job that says nothing of them gets neither."""
    sizes = table_of().sizes
    assert (sizes.panic_pistons, sizes.panic_first, sizes.panic_second, sizes.listen_stops) == (0, 0, 0, 0)


def test_a_piston_that_is_not_read_stops_the_table() -> None:
    """A piston without a place among the contacts is named, with the remedy."""
    with pytest.raises(TableError, match=r"pistons\.p9: it is to take part in a panic"):
        table_of(panic=["pistons.p1", "pistons.p9"])


def test_orders_are_listened_to_where_wished() -> None:
    """The wish reaches the table."""
    assert table_of(listen_to_stops=True).sizes.listen_stops == 1


def test_the_page_says_what_is_recognised() -> None:
    """Every byte pattern that the firmware acts on stands in the sentences; wishes add theirs."""
    plain = "\n".join(midi_sentences(bench_plan()))
    wishes = {"wanted": {"panic": ["pistons.p1", "pistons.p2"], "listen_to_stops": True, "midi_out": "both"}}
    wished = "\n".join(midi_sentences(bench_plan(bench_job(wishes))))
    for words in ("F0 7D 02 F7", "F0 7E 7F 06 01 F7", "120 and 123", "F0 7D 01 high low F7"):
        assert words in plain
    for words in ("pistons.p1 and pistons.p2", "is an order", "by DIN and"):
        assert words in wished
        assert words not in plain


def test_held_keys_are_mentioned_only_where_they_are_reported() -> None:
    """A job that wants no report of held keys is not told of one."""
    plan = bench_plan(bench_job({"wanted": {"report_held_at_start": False}}))
    assert "7D 01" not in "\n".join(midi_sentences(plan))
