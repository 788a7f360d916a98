"""Places on a keyboard that the organ scans: order of wiring, pins, shared strobes, what does not fit, and the load."""

from __future__ import annotations

from dataclasses import replace
from math import inf
from typing import Any

import pytest

from retrofit.catalogue.load import load_catalogue
from retrofit.scan.addresses import Address, ListenAddress, MatrixAddress, parse_address
from retrofit.scan.allocate import lay_out
from retrofit.scan.busy import Busy
from retrofit.scan.layout import ListenLayout, Source
from retrofit.scan.listen_load import ListenLoad, listen_load, with_listening
from retrofit.scan.requests import GroupRequest, LayoutResult, ListenStyle
from tests.scan.requests import BOARD, group

STYLE = ListenStyle(
    strobes=8,
    returns=8,
    neighbours_share_strobe=True,
    active_low=False,
    settle_us=12.4,
    silent_us=100_000,
    round_us=(1500, 1700),
)


def listened(name: str = "g", count: int = 61, **changes: object) -> GroupRequest:
    """Return a request for a keyboard that is listened to."""
    style = replace(STYLE, **changes)  # type: ignore[arg-type]  # fields by name
    return replace(group(name, count), interface="listen", listen=style)


def place(*requests: GroupRequest, fixed: dict[str, Address] | None = None) -> LayoutResult:
    """Lay out requests on the ATmega2560."""
    return lay_out(requests, BOARD, fixed=fixed or {})


def test_the_words_of_an_address_read_back() -> None:
    """Strobe and return stand in the text form, which reads back as itself."""
    assert str(ListenAddress(3, 5)) == "strobe 3, return 5"
    assert parse_address("strobe 3, return 5") == ListenAddress(3, 5)


def test_neighbours_on_a_strobe() -> None:
    """Eight keys to a strobe, from the first return up."""
    addresses = place(listened()).layout.addresses
    assert [addresses[f"g.{n}"] for n in (0, 7, 8, 60)] == [
        ListenAddress(0, 0),
        ListenAddress(0, 7),
        ListenAddress(1, 0),
        ListenAddress(7, 4),
    ]


def test_neighbours_on_a_return() -> None:
    """Six keys to a return on six strobes; the eleventh return lies on a second port."""
    layout = place(listened(strobes=6, returns=11, neighbours_share_strobe=False)).layout
    assert [layout.addresses[f"g.{n}"] for n in (0, 5, 6, 60)] == [
        ListenAddress(0, 0),
        ListenAddress(5, 0),
        ListenAddress(0, 1),
        ListenAddress(0, 10),
    ]
    assert layout.listener is not None
    assert layout.listener.return_ports == ("L", "C")
    assert layout.listener.return_bits == (0xFF, 0b111)


def test_strobes_lie_where_each_pin_raises_an_interrupt() -> None:
    """Port K is pins A8 to A15, PCINT16 to PCINT23 (Atmel 2549, external interrupts); waits are whole microseconds."""
    listener = place(listened(strobes=3)).layout.listener
    assert listener is not None
    assert listener.strobe_port == "K"
    assert listener.strobe_pins == ("A8", "A9", "A10")
    assert listener.settle_us == 13


def test_lanes_are_strobes_of_a_port_of_returns() -> None:
    """A lane is what a port of returns shows at one strobe; eight strobes make one run."""
    layout = place(listened()).layout
    assert {(lane.source, lane.where) for lane in layout.lanes} == {(Source.LISTEN, "1")}
    assert [lane.place for lane in layout.lanes] == list(range(8))
    assert len(layout.runs) == 1
    assert layout.spare == ("strobe 7, return 5", "strobe 7, return 6", "strobe 7, return 7")
    assert layout.pins["A8"] == "strobe 0"
    assert layout.pins["49"] == "return 0"


def test_two_keyboards_share_the_strobes() -> None:
    """The second keyboard has returns of its own, counted on from those of the first."""
    layout = place(listened("a"), listened("b", returns=5, strobes=7, count=35)).layout
    assert layout.addresses["b.0"] == ListenAddress(0, 8)
    assert layout.listener is not None
    assert len(layout.listener.strobe_pins) == 8


def test_wired_keys_stay_and_the_rest_follows() -> None:
    """Keys that are wired keep their crossing; those that are not take the open ones in the order of wiring."""
    fixed: dict[str, Address] = {"g.0": ListenAddress(0, 0), "g.2": ListenAddress(0, 1)}
    addresses = place(listened(count=4), fixed=fixed).layout.addresses
    assert addresses == {
        "g.0": ListenAddress(0, 0),
        "g.1": ListenAddress(0, 2),
        "g.2": ListenAddress(0, 1),
        "g.3": ListenAddress(0, 3),
    }


@pytest.mark.parametrize(
    ("changes", "words"),
    [({"strobes": 9}, "here are 9 strobes"), ({"returns": 40}, "and 40 returns")],
    ids=["nine strobes", "five ports"],
)
def test_what_the_board_cannot_take_is_said(changes: dict[str, Any], words: str) -> None:
    """More strobes than a port has pins, or more returns than there are ports, find no place."""
    result = place(listened(**changes))
    assert len(result.unplaced) == 61
    assert words in result.unplaced[0].allowed


def test_too_little_read_finds_no_place() -> None:
    """A keyboard whose scanner was not read is not guessed at."""
    result = place(replace(group("g", 3), interface="listen"))
    assert "too little of the organ's scanner was read" in result.unplaced[0].allowed


@pytest.mark.parametrize("address", [ListenAddress(8, 0), ListenAddress(0, 32), MatrixAddress(1, 0, 0)])
def test_a_wired_address_that_cannot_be_is_refused(address: Address) -> None:
    """A ninth strobe, a return beyond the ports, and another kind of address are named."""
    (problem,) = place(listened(count=1), fixed={"g.0": address}).unplaced
    assert "finds no pins on this board" in problem.found


def test_a_board_without_such_a_port_takes_none() -> None:
    """Without a port whose pins all raise interrupts nothing can be listened to."""
    plain = replace(BOARD, strobe_ports=())
    result = lay_out([listened(count=1)], plain, fixed={"g.0": ListenAddress(0, 0)})
    assert "none of this board's ports" in result.unplaced[0].allowed


LAYOUT = ListenLayout("K", ("A8", "A9"), False, ("L",), (0xFF,), 12.0, 1e5, 400.0)


def test_the_load_is_that_of_both_interrupts() -> None:
    """Two strobes in 400 µs begin 200 µs apart; each takes a read with its wait, a port and a pass."""
    costs = load_catalogue().firmware_costs["atmega2560"]
    load = listen_load(LAYOUT, costs, 16_000_000)
    assert load is not None
    assert load.spacing_us == 200
    assert load.strobe_us == 12 + (costs.listen_read + costs.listen_port + costs.listen_pass) / 16
    assert listen_load(None, costs, 16_000_000) is None


@pytest.mark.parametrize(("work_us", "stretched_us"), [(0.0, 30.0), (100.0, 130.0), (170.0, 230.0), (500.0, 590.0)])
def test_work_is_stretched_by_every_strobe_that_it_meets(work_us: float, stretched_us: float) -> None:
    """With a strobe of 30 µs every 200: 170 µs of work are over 200 with the first, and so meet a second."""
    assert ListenLoad(200.0, 30.0).stretched_us(work_us) == stretched_us


def test_strobes_that_leave_no_time_never_let_work_end() -> None:
    """Interrupts as long as the time between them."""
    assert ListenLoad(30.0, 30.0).stretched_us(1.0) == inf


def test_busy_times_are_stretched() -> None:
    """Total, ways to the lanes, and wandering sampling instants all wait for the interrupts."""
    busy = with_listening(Busy(100.0, {"g": 10.0}, (50.0,), (0.0,)), ListenLoad(200.0, 30.0))
    assert (busy.total_us, busy.until_lane_us, busy.sample_jitter_us) == (130.0, (80.0,), (30.0,))
