"""Requests for layouts, short to write and at random."""

from __future__ import annotations

from hypothesis import strategies as st

from retrofit.catalogue.load import load_catalogue
from retrofit.scan.requests import GroupRequest, InterfaceWord, PlaceRequest

BOARD = load_catalogue().boards["atmega2560"]


def group(
    name: str,
    count: int,
    interface: InterfaceWord = "chain",
    speed: int = 0,
    columns: int = 8,
    settle_us: float = 5.0,
    inputs: int = 16,
) -> GroupRequest:
    """Return a request for a group of `count` points named `name.0` and so on."""
    places = tuple(PlaceRequest(f"{name}.{number}") for number in range(count))
    return GroupRequest(name, interface, speed, places, columns, settle_us, inputs)


EVERY: tuple[InterfaceWord, ...] = ("chain", "matrix", "pins", "converter", "multiplexer", "expander")


@st.composite
def consoles(draw: st.DrawFn, interfaces: tuple[InterfaceWord, ...] = EVERY) -> list[GroupRequest]:
    """Draw up to eight groups of any interface, with kept-free places, inverted points and points left out."""
    return [_group(draw, f"g{number}", interfaces) for number in range(draw(st.integers(1, 8)))]


def _group(draw: st.DrawFn, name: str, interfaces: tuple[InterfaceWord, ...]) -> GroupRequest:
    interface = draw(st.sampled_from(interfaces))
    count = draw(st.integers(1, 4 if interface == "converter" else 70))
    kept_free = draw(st.sets(st.integers(0, count - 1), max_size=3)) if interface != "converter" else set()
    flips = draw(st.integers(0, 2**count - 1))
    left_out = draw(st.sets(st.integers(0, count - 1), max_size=2))
    places = tuple(
        PlaceRequest(None if n in kept_free else f"{name}.{n}", bool(flips >> n & 1), n not in left_out)
        for n in range(count)
    )
    inputs = draw(st.sampled_from((8, 16)))
    columns = draw(st.integers(2, 8))
    return GroupRequest(name, interface, draw(st.integers(0, 2)), places, columns, multiplexer_inputs=inputs)
