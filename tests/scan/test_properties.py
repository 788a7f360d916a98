"""What holds for every layout, on consoles drawn at random."""

from __future__ import annotations

from collections import Counter

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from retrofit.scan.addresses import (
    Address,
    ChainAddress,
    ConverterAddress,
    ExpanderAddress,
    ListenAddress,
    MatrixAddress,
    MultiplexerAddress,
    PinAddress,
)
from retrofit.scan.allocate import lay_out
from retrofit.scan.layout import Lane, ScanLayout, Source
from retrofit.scan.requests import GroupRequest, LayoutResult, PlaceRequest
from tests.scan.requests import BOARD, consoles

EXAMPLES = settings(max_examples=60, deadline=None)


def place(requests: list[GroupRequest], fixed: dict[str, Address] | None = None) -> LayoutResult:
    """Return the layout on the ATmega2560 board."""
    return lay_out(requests, BOARD, fixed=fixed or {}, spi_hz=1_000_000)


def points_of(requests: list[GroupRequest]) -> list[str]:
    """Return every point that is asked for."""
    return [place.point for request in requests for place in request.places if place.point is not None]


def read_addresses(layout: ScanLayout, lane: Lane) -> set[str]:
    """Return, in words, every address that reading a lane reads, worked out from the board alone."""
    match lane.source:
        case Source.CHAIN:
            return {str(ChainAddress(lane.place, bit)) for bit in range(8)}
        case Source.MATRIX:
            columns = next(m.columns for m in layout.matrices if str(m.number) == lane.where)
            return {str(MatrixAddress(int(lane.where), lane.place, column)) for column in range(columns)}
        case Source.PORT:
            uses = (None, f"kept free for {lane.group}", *lane.points)
            port = [pin for pin in BOARD.pins if pin.port == lane.where and pin.reserved is None]
            return {str(PinAddress(p.name, p.port, p.bit)) for p in port if layout.pins.get(p.name) in uses}
        case Source.MULTIPLEXER:
            first = 8 * (int(lane.where) - 1) + 1
            return {str(MultiplexerAddress(first + bit, lane.place)) for bit in range(8)}
        case Source.EXPANDER:
            return {str(ExpanderAddress(int(lane.where), 8 * lane.place + bit)) for bit in range(7)}
        case Source.LISTEN:
            raise AssertionError("these consoles have no scanner of their own")


@EXAMPLES
@given(consoles())
def test_each_point_has_one_address_and_each_address_one_point(requests: list[GroupRequest]) -> None:
    """Every point is placed once or listed as unplaced; no address serves two."""
    result = place(requests)
    unplaced = [problem.point for problem in result.unplaced]
    assert Counter([*result.layout.addresses, *unplaced]) == Counter(points_of(requests))
    assert len(set(result.layout.addresses.values())) == len(result.layout.addresses)


@EXAMPLES
@given(consoles())
def test_lanes_agree_with_addresses(requests: list[GroupRequest]) -> None:
    """A lane holds its group's points alone, at the bits of their addresses, and runs cover the lanes without gaps."""
    layout = place(requests).layout
    group_of = {place.point: request.group for request in requests for place in request.places}
    on_lanes = {}
    for lane in layout.lanes:
        for bit, point in enumerate(lane.points):
            if point is not None:
                assert group_of[point] == lane.group
                on_lanes[point] = (lane.source, lane.where, lane.place, bit)
    contacts = {p: a for p, a in layout.addresses.items() if not isinstance(a, ConverterAddress)}
    assert on_lanes == {point: _as_lane(address) for point, address in contacts.items()}
    covered = [lane for run in layout.runs for lane in range(run.first_lane, run.first_lane + run.lane_count)]
    assert covered == [lane.index for lane in layout.lanes] == list(range(len(layout.lanes)))


def _as_lane(address: Address) -> tuple[Source, str, int, int]:
    match address:
        case ChainAddress(register, bit):
            return Source.CHAIN, "chain", register, bit
        case MatrixAddress(matrix, row, column):
            return Source.MATRIX, str(matrix), row, column
        case PinAddress(_, port, bit):
            return Source.PORT, port, 0, bit
        case MultiplexerAddress(multiplexer, number):
            return Source.MULTIPLEXER, str((multiplexer + 7) // 8), number, (multiplexer - 1) % 8
        case ExpanderAddress(expander, pin):
            return Source.EXPANDER, str(expander), pin // 8, pin % 8
        case ConverterAddress() | ListenAddress():
            raise AssertionError(f"{address} is on no lane of these consoles")


@EXAMPLES
@given(consoles())
def test_runs_are_of_one_group_and_as_long_as_can_be(requests: list[GroupRequest]) -> None:
    """Lanes of a run follow each other in one group and source; the next run differs or skips a place."""
    layout = place(requests).layout
    keys = [(lane.group, lane.source, lane.where, lane.place - lane.index) for lane in layout.lanes]
    for run in layout.runs:
        assert len({keys[lane] for lane in range(run.first_lane, run.first_lane + run.lane_count)}) == 1
    for earlier, later in zip(layout.runs, layout.runs[1:], strict=False):
        assert keys[earlier.first_lane] != keys[later.first_lane]


@EXAMPLES
@given(consoles())
def test_pins_are_legal_and_used_once(requests: list[GroupRequest]) -> None:
    """Every pin in use exists and is not kept by the board for something else; all uses of pins are apart."""
    layout = place(requests).layout
    by_name = {pin.name: pin for pin in BOARD.pins}
    for name, use in layout.pins.items():
        assert by_name[name].reserved in (None, use)
    rows = [pin for matrix in layout.matrices for pin in matrix.row_pins]
    columns = [
        pin.name for m in layout.matrices for pin in BOARD.pins if pin.port == m.column_port and pin.bit < m.columns
    ]
    direct = [address.pin for address in layout.addresses.values() if isinstance(address, PinAddress)]
    channels = [pin.name for pin in BOARD.pins if ConverterAddress(pin.converter or 0) in layout.converters.values()
                and pin.converter is not None]  # fmt: skip
    commons = [pin.name for bank in layout.banks for pin in BOARD.pins if pin.port == bank.common_port]
    select = sorted({pin for bank in layout.banks for pin in bank.select_pins})
    bus = list(BOARD.bus_pins) if layout.expanders else []
    everything = rows + columns + direct + channels + commons + select + bus
    assert len(everything) == len(set(everything))
    assert set(everything) <= set(layout.pins)


@EXAMPLES
@given(consoles())
def test_spare_and_used_are_everything_that_is_read(requests: list[GroupRequest]) -> None:
    """An address that is read is either a point's or spare, never both."""
    layout = place(requests).layout
    read = {address for lane in layout.lanes for address in read_addresses(layout, lane)}
    used = {str(a) for a in layout.addresses.values() if not isinstance(a, ConverterAddress)}
    assert set(layout.spare) | used == read
    assert not set(layout.spare) & used
    assert len(layout.spare) == len(set(layout.spare))


@EXAMPLES
@given(consoles(), st.data())
def test_wired_points_never_move(requests: list[GroupRequest], data: st.DataObject) -> None:
    """Whichever points are wired, and however groups grow at their ends or new groups follow, they stay."""
    before = place(requests)
    wired = {p: a for p, a in before.layout.addresses.items() if data.draw(st.booleans(), label=p)}
    more = data.draw(st.integers(0, 20))
    grown = [
        GroupRequest(
            r.group,
            r.interface,
            r.speed,
            (*r.places, *(PlaceRequest(f"{r.group}.new{n}") for n in range(more))),
            r.matrix_columns,
            multiplexer_inputs=r.multiplexer_inputs,
        )
        for r in requests
    ]
    grown.append(GroupRequest("added", "chain", 0, tuple(PlaceRequest(f"added.{n}") for n in range(9))))
    after = place(grown, wired)
    assert {point: after.layout.addresses.get(point) for point in wired} == wired
    assert not [problem for problem in after.unplaced if problem.conflict]
    wired_matrices = {a.matrix for a in wired.values() if isinstance(a, MatrixAddress)}
    assert _matrix_pins(before.layout, wired_matrices) == _matrix_pins(after.layout, wired_matrices)
    banks = {bank.number: bank for bank in after.layout.banks}
    for bank in before.layout.banks:
        if any(isinstance(a, MultiplexerAddress) and (a.multiplexer + 7) // 8 == bank.number for a in wired.values()):
            assert banks[bank.number].common_port == bank.common_port
            assert banks[bank.number].select_pins[:3] == bank.select_pins[:3]


def _matrix_pins(layout: ScanLayout, numbers: set[int]) -> list[tuple[int, str, str]]:
    """Return number, column port and first row pin of these matrices."""
    return [(m.number, m.column_port, m.row_pins[0]) for m in layout.matrices if m.number in numbers]


@EXAMPLES
@given(consoles())
def test_wiring_everything_changes_nothing(requests: list[GroupRequest]) -> None:
    """Planning again with every address recorded as wired gives the very same lanes and addresses.

    A lane of which every place is kept free has no wire that could hold it; it is left out here.
    """
    before = place(requests)
    assume(all(any(lane.points) for lane in before.layout.lanes))
    after = place(requests, before.layout.addresses)
    assert after.layout.addresses == before.layout.addresses
    assert [m.column_port for m in after.layout.matrices] == [m.column_port for m in before.layout.matrices]
    assert [m.row_pins for m in after.layout.matrices] == [m.row_pins for m in before.layout.matrices]
    assert (after.layout.banks, after.layout.expanders) == (before.layout.banks, before.layout.expanders)


@EXAMPLES
@given(consoles())
def test_the_same_request_gives_the_same_layout(requests: list[GroupRequest]) -> None:
    """A layout depends on nothing but what is asked."""
    assert place(requests) == place(requests)


@EXAMPLES
@given(consoles(), st.data())
def test_any_address_may_be_called_wired(requests: list[GroupRequest], data: st.DataObject) -> None:
    """Whatever nonsense is recorded, nothing is raised: a wired point is exactly there, or listed and nowhere."""
    someone = st.sampled_from(points_of(requests) or ["none"])
    fixed = data.draw(st.dictionaries(someone, any_address(), max_size=12))
    result = place(requests, fixed)
    refused = {problem.point for problem in result.unplaced if problem.conflict}
    for point, address in fixed.items():
        assert (result.layout.addresses.get(point) == address) != (point in refused)


def any_address() -> st.SearchStrategy[Address]:
    """Draw an address that may or may not exist."""
    small = st.integers(0, 10)
    return st.one_of(
        st.builds(ChainAddress, st.integers(0, 300), st.integers(0, 7)),
        st.builds(MatrixAddress, small, small, small),
        st.sampled_from([PinAddress(pin.name, pin.port, pin.bit) for pin in BOARD.pins] + [PinAddress("x", "A", 0)]),
        st.builds(ConverterAddress, st.integers(0, 20)),
        st.builds(MultiplexerAddress, st.integers(0, 40), st.integers(0, 17)),
        st.builds(ExpanderAddress, small, st.integers(0, 17)),
    )
