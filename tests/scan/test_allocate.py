"""Where points are put, one rule at a time."""

from __future__ import annotations

from dataclasses import replace

import pytest

from retrofit.scan.addresses import Address, ChainAddress, ConverterAddress, MatrixAddress, PinAddress, parse_address
from retrofit.scan.allocate import lay_out
from retrofit.scan.layout import Run, Source
from retrofit.scan.requests import GroupRequest, InterfaceWord, LayoutResult, PlaceRequest
from tests.scan.requests import BOARD, group


def place(*requests: GroupRequest, fixed: dict[str, Address] | None = None) -> LayoutResult:
    """Return the layout on the ATmega2560 board with a chain clocked at 4 MHz."""
    return lay_out(requests, BOARD, fixed=fixed or {}, spi_hz=4_000_000)


def addresses(result: LayoutResult) -> dict[str, str]:
    """Return every address in words."""
    return {point: str(address) for point, address in result.layout.addresses.items()}


def test_position_is_register_and_bit() -> None:
    """Position p lies on register p // 8, bit p % 8, from the register's input A upward."""
    found = addresses(place(group("keys", 61)))
    assert found["keys.0"] == "chain register 0 bit 0"
    assert found["keys.7"] == "chain register 0 bit 7"
    assert found["keys.60"] == "chain register 7 bit 4"


def test_every_group_begins_on_a_fresh_register_keys_first() -> None:
    """Groups lie in order of speed, in file order within a speed, each on registers of its own."""
    result = place(group("tabs", 9, speed=2), group("swell", 9), group("pistons", 3, speed=1), group("great", 1))
    assert result.layout.runs == (
        Run("swell", Source.CHAIN, "chain", 0, 2),
        Run("great", Source.CHAIN, "chain", 2, 1),
        Run("pistons", Source.CHAIN, "chain", 3, 1),
        Run("tabs", Source.CHAIN, "chain", 4, 2),
    )
    assert result.layout.registers == 6


def test_wired_points_stay_and_the_rest_fills_up() -> None:
    """New tabs fill the vacant bits of their register, then a register at the end, past a later group's."""
    fixed: dict[str, Address] = {f"tabs.{n}": ChainAddress(0, n) for n in range(7)}
    fixed |= {f"keys.{n}": ChainAddress(1, n) for n in range(8)}
    found = addresses(place(group("keys", 8), group("tabs", 10, speed=2), fixed=fixed))
    assert found["tabs.6"] == "chain register 0 bit 6"
    assert found["tabs.7"] == "chain register 0 bit 7"
    assert found["tabs.8"] == "chain register 2 bit 0"
    assert found["keys.7"] == "chain register 1 bit 7"


def test_a_new_group_takes_registers_that_nobody_has() -> None:
    """Registers left between wired groups are used before the chain grows."""
    fixed: dict[str, Address] = {"a.0": ChainAddress(0, 0), "b.0": ChainAddress(3, 0)}
    found = addresses(place(group("a", 1), group("b", 1), group("c", 17), fixed=fixed))
    assert [found[f"c.{n}"] for n in (0, 8, 16)] == [
        "chain register 1 bit 0",
        "chain register 2 bit 0",
        "chain register 4 bit 0",
    ]


def test_a_register_between_that_stays_empty_is_still_read() -> None:
    """A register that must be shifted through belongs to its neighbour and is listed as spare."""
    result = place(group("a", 1), fixed={"a.0": ChainAddress(2, 5)})
    assert [lane.used for lane in result.layout.lanes] == [0, 0, 1 << 5]
    assert result.layout.runs == (Run("a", Source.CHAIN, "chain", 0, 3),)
    assert len(result.layout.spare) == 23


def test_lane_says_what_is_used_inverted_and_kept() -> None:
    """A kept-free place and a point left out are not in `used`; only points that take part are inverted."""
    places = (
        PlaceRequest("g.a", inverted=True),
        PlaceRequest(None),
        PlaceRequest("g.b", inverted=True, takes_part=False),
        PlaceRequest("g.c"),
    )
    (lane,) = place(GroupRequest("g", "chain", 0, places)).layout.lanes
    assert lane.points[:4] == ("g.a", None, "g.b", "g.c")
    assert (lane.used, lane.invert) == (0b1001, 0b0001)


def test_matrix_rows_columns_and_pins() -> None:
    """Position p lies on row p // columns, column p % columns; columns on a whole port, rows on free pins elsewhere."""
    result = place(group("keys", 13, "matrix", columns=6, settle_us=9.2))
    assert addresses(result)["keys.12"] == "matrix 1 row 2 column 0"
    (matrix,) = result.layout.matrices
    assert (matrix.column_port, matrix.columns, matrix.settle_us) == ("A", 6, 10)
    assert matrix.row_pins == ("2", "3", "4")
    assert result.layout.pins["22"] == "matrix 1 column 0"
    assert result.layout.pins["2"] == "matrix 1 row 0"
    assert "28" not in result.layout.pins


def test_groups_share_a_matrix_when_all_rows_fit() -> None:
    """A second group goes on the next free rows; one that does not fit begins its own; the longer wait holds."""
    result = place(
        group("a", 20, "matrix", settle_us=6), group("b", 40, "matrix", settle_us=8), group("c", 16, "matrix")
    )
    assert [(run.group, run.where, run.first_lane, run.lane_count) for run in result.layout.runs] == [
        ("a", "1", 0, 3),
        ("b", "1", 3, 5),
        ("c", "2", 8, 2),
    ]
    assert [matrix.settle_us for matrix in result.layout.matrices] == [8, 5.0]


def test_a_matrix_keeps_its_pins_when_the_job_grows() -> None:
    """New matrices, rows and contacts on pins leave the pins of a wired matrix alone."""
    before = place(group("keys", 30, "matrix"))
    grown = place(
        group("new", 60, "matrix"),
        group("switches", 9, "pins"),
        group("keys", 50, "matrix"),
        fixed=before.layout.addresses,
    )
    old, new = before.layout.matrices[0], grown.layout.matrices[0]
    assert new.column_port == old.column_port
    assert new.row_pins[: len(old.row_pins)] == old.row_pins


def test_a_group_on_pins_takes_the_port_that_fits() -> None:
    """Nine contacts take a whole port and the smallest port that holds the last one; a port belongs to one group."""
    result = place(group("a", 9, "pins"), group("b", 2, "pins"))
    found = addresses(result)
    assert found["a.0"] == "pin A8 (K0)"
    assert found["a.8"] == "pin 15 (J0)"
    assert found["b.0"] == "pin 5 (E3)"
    ports = [(lane.where, lane.group) for lane in result.layout.lanes]
    assert ports == [("E", "b"), ("J", "a"), ("K", "a")]


def test_converter_pins_are_left_alone() -> None:
    """Shoes take the first channels, and contacts on pins stay off their pins."""
    result = place(group("switches", 54, "pins"), group("shoes", 2, "converter", speed=2))
    assert result.layout.converters == {"shoes.0": ConverterAddress(0), "shoes.1": ConverterAddress(1)}
    assert (result.layout.pins["A0"], result.layout.pins["A1"]) == ("shoes.0", "shoes.1")
    assert result.unplaced == ()


def test_lanes_are_in_reading_order() -> None:
    """The chain comes first, then matrices, then ports in the board's order."""
    result = place(group("pins", 9, "pins"), group("matrix", 9, "matrix"), group("chain", 9))
    sources = [(lane.source.value, lane.where) for lane in result.layout.lanes]
    assert sources == [("chain", "chain")] * 2 + [("matrix", "1")] * 2 + [("port", "E"), ("port", "K")]
    assert [lane.index for lane in result.layout.lanes] == list(range(6))


def test_only_a_chain_has_a_clock() -> None:
    """Without a register there is no chain clock and no chain pin."""
    layout = place(group("keys", 8, "pins")).layout
    assert (layout.spi_hz, layout.registers) == (None, 0)
    assert "52" not in layout.pins
    assert place(group("keys", 8)).layout.pins["52"] == "chain clock"


CONFLICTS: list[tuple[str, GroupRequest, dict[str, Address], str]] = [
    (
        "two points at one address",
        group("g", 2),
        {"g.0": ChainAddress(1, 1), "g.1": ChainAddress(1, 1)},
        "g.0 is wired",
    ),
    ("beyond the chain", group("g", 2), {"g.1": ChainAddress(255, 0)}, "at most 255 registers"),
    ("other interface", group("g", 2), {"g.1": MatrixAddress(1, 0, 0)}, "wired for chain, but matrix 1 row 0"),
    (
        "chain instead of matrix",
        group("g", 2, "matrix"),
        {"g.1": ChainAddress(0, 0)},
        "chain register 0 bit 0 finds no",
    ),
    ("row beyond the matrix", group("g", 2, "matrix"), {"g.1": MatrixAddress(1, 8, 0)}, "finds no pins"),
    ("matrix zero", group("g", 2, "matrix"), {"g.1": MatrixAddress(0, 1, 0)}, "finds no pins"),
    ("reserved pin", group("g", 2, "pins"), {"g.1": PinAddress("18", "D", 3)}, "is kept for MIDI out"),
    ("no such pin", group("g", 2, "pins"), {"g.1": PinAddress("54", "A", 0)}, "is not on this board"),
    ("wrong port", group("g", 2, "pins"), {"g.1": PinAddress("22", "C", 0)}, "pin 22 is A0"),
    ("no such channel", group("g", 2, "converter"), {"g.1": ConverterAddress(16)}, "channels 0 to 15"),
    ("chain instead of converter", group("g", 2, "converter"), {"g.1": ChainAddress(0, 0)}, "is not on this board"),
    ("chain instead of pins", group("g", 2, "pins"), {"g.1": ChainAddress(0, 0)}, "is not on this board"),
]


@pytest.mark.parametrize(
    ("request_", "fixed", "words"), [case[1:] for case in CONFLICTS], ids=[c[0] for c in CONFLICTS]
)
def test_a_wired_address_that_cannot_stand(request_: GroupRequest, fixed: dict[str, Address], words: str) -> None:
    """The point gets no address, the conflict is in words, and the other point is placed all the same."""
    result = place(request_, fixed=fixed)
    (problem,) = result.unplaced
    assert problem.conflict
    assert (problem.point, problem.group) == ("g.1", "g")
    assert words in f"{problem.found}; {problem.allowed}; {problem.remedy}"
    assert list(result.layout.addresses) == ["g.0"]


def test_two_groups_on_one_register() -> None:
    """The group that comes first in the file keeps the register; the other's point is a conflict that names it."""
    result = place(group("a", 1), group("b", 1), fixed={"a.0": ChainAddress(4, 0), "b.0": ChainAddress(4, 1)})
    (problem,) = result.unplaced
    assert problem.point == "b.0"
    assert "among the contacts of a" in problem.found


def test_a_pin_and_a_converter_channel_on_one_pin() -> None:
    """A contact wired to A0 and a shoe wired to channel 0 cannot both stand."""
    fixed: dict[str, Address] = {"shoe.0": ConverterAddress(0), "switch.0": PinAddress("A0", "F", 0)}
    (problem,) = place(group("switch", 1, "pins"), group("shoe", 1, "converter"), fixed=fixed).unplaced
    assert problem.point == "switch.0"
    assert "is kept for shoe.0" in problem.found


def test_a_wired_point_that_is_not_in_the_job() -> None:
    """An address of a point that no group has is said."""
    (problem,) = place(group("a", 1), fixed={"ghost": ChainAddress(0, 0)}).unplaced
    assert (problem.point, problem.conflict) == ("ghost", True)
    assert "no group has such a point" in problem.found


NO_ROOM = [
    (group("g", 255 * 8 + 1), 1, "chain"),
    (group("g", 29 * 8 + 1, "matrix"), 1, "pins left for another row"),
    (group("g", 62, "pins"), 1, "no free pin left"),
    (group("g", 17, "converter"), 1, "every converter channel is taken"),
]


@pytest.mark.parametrize(("request_", "missing", "words"), NO_ROOM)
def test_more_points_than_places(request_: GroupRequest, missing: int, words: str) -> None:
    """What finds no room is listed from the last point on; everything before it is placed."""
    result = place(request_)
    last = [place.point for place in request_.places][-missing:]
    assert [problem.point for problem in result.unplaced] == last
    assert not any(problem.conflict for problem in result.unplaced)
    assert words in f"{result.unplaced[0].found}; {result.unplaced[0].allowed}"
    assert len(result.layout.addresses) == len(request_.places) - missing


def test_lanes_of_matrices_and_ports_are_taken_from_the_chain() -> None:
    """All lanes together are counted in one byte, so a full board of ports leaves fewer registers."""
    result = place(group("keys", 8 * 255), group("row", 16, "matrix"))
    assert len(result.layout.lanes) == 255
    assert len(result.unplaced) == 16


@pytest.mark.parametrize("interface", ["matrix", "pins"])
def test_a_full_chain_that_is_wired_leaves_no_lane(interface: InterfaceWord) -> None:
    """With the last register wired, rows and ports cannot be counted any more and their points are listed."""
    result = place(group("keys", 1), group("more", 3, interface), fixed={"keys.0": ChainAddress(254, 0)})
    assert len(result.layout.lanes) == 255
    assert [problem.point for problem in result.unplaced] == ["more.0", "more.1", "more.2"]
    assert "all 255 lanes are taken" in result.unplaced[0].allowed


def test_addresses_read_back() -> None:
    """Every address in words reads back as the same address."""
    layout = place(group("a", 9), group("b", 9, "matrix"), group("c", 9, "pins"), group("d", 2, "converter")).layout
    assert {parse_address(str(address)) for address in layout.addresses.values()} == set(layout.addresses.values())


def test_a_point_that_stops_taking_part_keeps_its_place() -> None:
    """A point marked as left out keeps its address and only leaves `used`."""
    keys = group("keys", 4)
    less = replace(keys, places=(replace(keys.places[0], takes_part=False), *keys.places[1:]))
    before, after = place(keys).layout, place(less).layout
    assert before.addresses == after.addresses
    assert (before.lanes[0].used, after.lanes[0].used) == (0b1111, 0b1110)
