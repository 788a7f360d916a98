"""Choosing a port by name, and knowing it again."""

from __future__ import annotations

import pytest

from retrofit.proving.ports.errors import PortChoiceError
from retrofit.proving.ports.names import PortName, chosen, come_back

CONSOLE = PortName("ALSA", "Console:Console MIDI 1 20:0")
SECOND = PortName("ALSA", "Console:Console MIDI 2 20:1")
THROUGH = PortName("ALSA", "Midi Through:Midi Through Port-0 14:0")
PORTS = (CONSOLE, SECOND, THROUGH)


@pytest.mark.parametrize(
    ("wish", "port"),
    [
        (CONSOLE.name, CONSOLE),
        ("Console:Console MIDI 2", SECOND),
        ("through", THROUGH),
        ("midi 1", CONSOLE),
    ],
)
def test_a_port_is_chosen_by_name_or_by_an_unmistakable_part(wish: str, port: PortName) -> None:
    """The exact name, the name without its numbers and a part that fits no other all lead to the port."""
    assert chosen(wish, PORTS) == port


def test_the_exact_name_wins_over_names_that_contain_it() -> None:
    """A port is found although its name stands in another's."""
    short, long = PortName("JACK", "a:out"), PortName("JACK", "aa:out 2 more")
    assert chosen("a:out", (long, short)) == short


def test_a_name_that_fits_several_ports_is_answered_with_those() -> None:
    """The message names the ports that fit, and not the others."""
    with pytest.raises(PortChoiceError) as caught:
        chosen("console", PORTS)
    assert caught.value.names == (CONSOLE.name, SECOND.name)
    assert "2 ports fit the name 'console'; there are: Console:Console MIDI 1" in str(caught.value)


@pytest.mark.parametrize(("ports", "words"), [(PORTS, "there are: Console"), ((), "there is none at all")])
def test_a_name_that_fits_nothing_is_answered_with_what_there_is(ports: tuple[PortName, ...], words: str) -> None:
    """The message names all ports, or says that there is none."""
    with pytest.raises(PortChoiceError, match=words):
        chosen("organ", ports)


def test_a_device_is_known_again_under_other_numbers() -> None:
    """Another number is no other device; its very name wins, and of two that differ in numbers alone it is neither."""
    renumbered = PortName("ALSA", "Console:Console MIDI 1 28:0")
    twin = PortName("ALSA", "Console:Console MIDI 1 32:0")
    assert come_back(CONSOLE, (THROUGH, renumbered)) == renumbered
    assert come_back(CONSOLE, (renumbered, CONSOLE)) == CONSOLE
    assert come_back(CONSOLE, (renumbered, twin)) is None
    assert come_back(CONSOLE, (PortName("JACK", CONSOLE.name), SECOND)) is None
