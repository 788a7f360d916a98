"""Connectors: what each pin carries, and how the two sides mirror each other."""

from __future__ import annotations

import pytest

from retrofit.plan.connectors import Connector, Side, connectors
from tests.plan.jobs import GREAT, HEAD, OURS, keys, plan_of
from tests.plan.topologies.consoles import wiring


def built(interface: str, count: int = 61, extra: str = "") -> tuple[Connector, ...]:
    """Return the connectors of a manual."""
    wanted = f'[groups.wanted]\ninterface = "{interface}"\n{extra}'
    return connectors(plan_of(HEAD + GREAT + keys(count) + wiring(diodes="schottky") + wanted))


def numbers(connector: Connector, side: Side) -> list[list[int]]:
    """Return the numbers of the pins as they lie before the eye."""
    return [[pin.number for pin in row] for row in connector.seen_from(side)]


def test_a_register_has_eight_inputs_between_return_and_spare() -> None:
    """Pin 1 is the return, pins 2 to 9 are inputs A to H in order of position, pin 10 is left open."""
    first = built("chain")[0]
    assert [pin.signal for pin in first.pins] == [
        "return",
        *(f"input {letter}" for letter in "ABCDEFGH"),
        "spare, left open",
    ]
    assert [pin.point for pin in first.pins[1:9]] == [f"great.{note}" for note in range(36, 44)]
    assert (first.name, first.where, first.group) == ("J1", "chain register 0", "great")


def test_one_connector_for_each_register() -> None:
    """61 keys fill eight registers; the last three inputs carry nobody."""
    found = built("chain")
    assert [connector.name for connector in found] == [f"J{n}" for n in range(1, 9)]
    assert [pin.point for pin in found[-1].pins[6:9]] == ["", "", ""]


def test_the_solder_side_mirrors_left_and_right() -> None:
    """A ten-way header numbers its pins in pairs across the rows (common practice, no source)."""
    first = built("chain")[0]
    assert numbers(first, Side.MATING) == [[1, 3, 5, 7, 9], [2, 4, 6, 8, 10]]
    assert numbers(first, Side.SOLDER) == [[9, 7, 5, 3, 1], [10, 8, 6, 4, 2]]


def test_mirroring_twice_is_nothing() -> None:
    """Turning the connector over and back shows what was seen before, with no pin lost."""
    for connector in built("chain"):
        turned = [list(reversed(row)) for row in numbers(connector, Side.SOLDER)]
        assert turned == numbers(connector, Side.MATING)
        assert sorted(n for row in turned for n in row) == list(range(1, 11))


def test_a_plug_turned_round_runs_the_inputs_backwards() -> None:
    """Turned by half a turn pin n meets pin 11 - n: bit b is read as 7 - b, and the return meets an open pin."""
    first = built("chain")[0]
    turned = {pin.number: first.pins[10 - pin.number] for pin in first.pins}
    assert turned[1].signal == "spare, left open"
    for bit in range(8):
        assert turned[bit + 2].signal == first.pins[(7 - bit) + 1].signal


def test_sensors_get_a_supply() -> None:
    """Sensors and contacts to our supply find it on pin 10."""
    assert built("chain", 8, 'sense = "sensor"\n')[0].pins[9].signal == "supply"


def test_a_matrix_has_a_connector_for_columns_and_one_for_rows() -> None:
    """An 8 x 8 matrix: eight columns, eight rows, both ends open, no single point."""
    columns, rows = built("matrix")
    assert [pin.signal for pin in columns.pins] == ["open", *(f"column {n}" for n in range(8)), "open"]
    assert [pin.signal for pin in rows.pins] == ["open", *(f"row {n}" for n in range(8)), "open"]
    assert {pin.point for pin in (*columns.pins, *rows.pins)} == {""}
    assert [pin.signal for pin in built("matrix", 13)[1].pins[1:4]] == ["row 0", "row 1", "open"]


def test_pins_lie_by_bit_of_their_port() -> None:
    """Contacts on direct pins share a connector for each port, at the bit of their address."""
    plan = plan_of(HEAD + GREAT + keys(13) + OURS + '[groups.wanted]\ninterface = "pins"\n')
    seen = {pin.point: (connector.where, pin.signal) for connector in connectors(plan) for pin in connector.pins}
    for point, address in plan.layout.addresses.items():
        letter, bit = str(address).split("(")[1][0], str(address).split("(")[1][1]
        assert seen[point] == (f"port {letter}", f"bit {bit}")


@pytest.mark.parametrize("interface", ["chain", "pins"])
def test_every_point_is_on_exactly_one_pin(interface: str) -> None:
    """No point is missing and none is wired twice."""
    points = [pin.point for connector in built(interface, 40) for pin in connector.pins if pin.point]
    assert sorted(points) == [f"great.{note}" for note in range(36, 76)]
