"""Outlets that come and go: a host that is away or takes nothing delays nothing, and is told the truth afterwards."""

from __future__ import annotations

import random
from dataclasses import replace
from pathlib import Path

import pytest

from tests.firmware.console import Console, build_console
from tests.firmware.midi_file import Message
from tests.firmware.outside import Outside
from tests.firmware.table_text import ConsoleTable, chain_of_keys
from tests.firmware.test_start import SILENCE, STOPS_OFF
from tests.firmware.test_usb_packets import sample_by

SECOND = 4000
"""Ticks of 250 microseconds."""

SHOES_AT_REST = [(0xB0, 11, 0), (0xB1, 16, 0)]


@pytest.fixture(scope="module")
def usb_compiled(tmp_path_factory: pytest.TempPathFactory) -> Console:
    """The sample console with USB alone."""
    return build_console(tmp_path_factory.mktemp("usb"), sample_by(0, 1))


@pytest.fixture(scope="module")
def both_compiled(tmp_path_factory: pytest.TempPathFactory) -> Console:
    """The sample console with both outlets."""
    return build_console(tmp_path_factory.mktemp("both"), sample_by(1, 1))


def switched_on(console: Console) -> tuple[Console, Outside]:
    """A console at rest just after power-on, and its outside."""
    console.switch_on()
    console.ports[0] = 0x0F
    return console, Outside(console)


@pytest.fixture
def usb(usb_compiled: Console) -> tuple[Console, Outside]:
    """The console with USB alone, just switched on and not plugged in."""
    return switched_on(usb_compiled)


@pytest.fixture
def both(both_compiled: Console) -> tuple[Console, Outside]:
    """The console with both outlets, just switched on and not plugged in."""
    return switched_on(both_compiled)


def test_nothing_is_said_until_a_host_is_there(usb: tuple[Console, Outside]) -> None:
    """By USB alone power-on waits for the host; once it is plugged in, silence comes first, then the state."""
    console, outside = usb
    console.run(3 * SECOND)
    assert outside.packets() == []
    outside.plug()
    console.run(SECOND)
    assert outside.messages() == [*SILENCE, *STOPS_OFF, *SHOES_AT_REST]


def test_a_key_held_while_plugging_in_is_muted_until_released(usb: tuple[Console, Outside]) -> None:
    """Unplugged and plugged in again with a key down: reported as held, no note until its next press."""
    console, outside = usb
    outside.plug()
    console.run(SECOND)
    console.registers[0] = 0xFE
    console.run(50)
    assert outside.messages()[-1] == (0x90, 36, 100)
    outside.plug(plugged=False)
    console.run(50)
    outside.plug()
    console.run(SECOND)
    assert outside.messages() == [*SILENCE, (0xF0, 0x7D, 1, 0, 0, 0xF7), *STOPS_OFF, *SHOES_AT_REST]
    console.registers[0] = 0xFF
    console.run(50)
    assert outside.messages() == []
    console.registers[0] = 0xFE
    console.run(50)
    assert outside.messages() == [(0x90, 36, 100)]


def test_messages_wait_for_a_host_that_pauses(usb: tuple[Console, Outside]) -> None:
    """A host that takes nothing for half a second gets all of the playing afterwards, in order, without a new start."""
    console, outside = usb
    outside.plug()
    console.run(SECOND)
    outside.packets()
    outside.stop_taking()
    for level in (0x00, 0xFF) * 3:
        console.registers[0] = level
        console.run(SECOND // 12)
    assert outside.packets() == []
    outside.stop_taking(stopped=False)
    console.run(SECOND)
    strokes = [(status, 36 + key) for _ in range(3) for status in (0x90, 0x80) for key in range(8)]
    assert [message[:2] for message in outside.messages()] == strokes
    assert outside.counter("outlets_usb_refused") == 0


def test_a_host_that_sleeps_too_long_is_told_anew(usb: tuple[Console, Outside]) -> None:
    """A host that takes nothing for more than a second counts as away: it gets what its buffer held, then all anew."""
    console, outside = usb
    outside.plug()
    console.run(SECOND)
    outside.packets()
    outside.stop_taking()
    for level in (0x00, 0xFF) * 20:
        console.registers[0] = level
        console.run(SECOND // 20)
    console.registers[4] = 0xFE
    console.run(100)
    outside.stop_taking(stopped=False)
    console.run(SECOND)
    messages = outside.messages()
    at = messages.index(SILENCE[0])
    assert at <= 16
    assert messages[at:] == [*SILENCE, (0xB2, 20, 127), *STOPS_OFF[1:], *SHOES_AT_REST]
    assert outside.counter("outlets_usb_refused") == 1


def stir(console: Console, hands: random.Random) -> None:
    """Move keys, stops and pistons at random."""
    console.registers[hands.choice((0, 1, 2, 4))] = hands.getrandbits(8)
    console.ports[0] = hands.getrandbits(6)


def test_the_wire_never_feels_the_host(tmp_path: Path) -> None:
    """With a host that comes, goes and stops taking, the wire sends tick for tick what it sends without USB.

    No shoe is fitted here: shoes are sent again when a host comes.
    """
    alone = build_console(tmp_path, sample_by(1, 0).replace("#define SHOE_COUNT 3", "#define SHOE_COUNT 0"))
    beside = build_console(tmp_path, sample_by(1, 1).replace("#define SHOE_COUNT 3", "#define SHOE_COUNT 0"))
    (beside, outside), (alone, _) = switched_on(beside), switched_on(alone)
    hands, whims = random.Random(11), random.Random(12)
    sent = 0
    for step in range(2500):
        if step % 40 == 0:
            outside.plug(whims.random() < 0.8)
            outside.stop_taking(whims.random() < 0.4)
        seed = hands.getrandbits(32)
        stir(alone, random.Random(seed))
        stir(beside, random.Random(seed))
        for _ in range(20):
            alone.run()
            beside.run()
            by_wire = alone.take()
            assert beside.take() == by_wire
            sent += len(by_wire)
        outside.packets()
    assert sent > 10_000
    assert outside.counter("outlets_usb_refused") > 3


def sounding(messages: list[Message]) -> set[tuple[int, int]]:
    """Notes that a receiver holds after these messages; All Notes Off ends those of its channel."""
    on: set[tuple[int, int]] = set()
    for message in messages:
        kind, channel = message[0] >> 4, message[0] & 0x0F
        if kind == 0xB and message[1] == 123:
            on = {note for note in on if note[0] != channel}
        elif kind == 0x9:
            on.add((channel, message[1]))
        elif kind == 0x8:
            on.discard((channel, message[1]))
    return on


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("outlets", ["usb", "both"])
def test_a_host_ends_with_the_truth_whatever_it_did(request: pytest.FixtureRequest, outlets: str, seed: int) -> None:
    """After any coming, going and not taking, with all keys up, nothing sounds at the host and its stops are right."""
    console, outside = request.getfixturevalue(outlets)
    hands = random.Random(seed)
    for _ in range(60):
        outside.plug(hands.random() < 0.7)
        outside.stop_taking(hands.random() < 0.5)
        for _ in range(hands.randrange(40)):
            stir(console, hands)
            console.run(hands.choice((1, 5, 40)))
        console.run(hands.choice((1, 500, 1500)))
    outside.plug()
    outside.stop_taking(stopped=False)
    console.run(SECOND)
    for register in (0, 1, 2):
        console.registers[register] = 0xFF
    console.ports[0] = 0x0F
    drawn = hands.getrandbits(8)
    console.registers[4] = 0xFF ^ drawn
    console.run(2 * SECOND)
    messages = outside.messages()
    assert sounding(messages) == set()
    stops = {message[1]: message[2] for message in messages if message[0] == 0xB2}
    assert stops == {20 + bit: 127 if drawn >> bit & 1 else 0 for bit in range(8)}
    assert any(message[0] >> 4 == 0x9 for message in messages)


def test_a_host_that_comes_back_beside_the_wire_is_told_alone(both: tuple[Console, Outside]) -> None:
    """The host gets silence and the stops; the wire, which has missed nothing, gets no silence: its note sounds on."""
    console, outside = both
    console.run(SECOND)
    console.registers[0] = 0xFE
    console.registers[4] = 0xFE
    console.run(SECOND // 4)
    console.take()
    outside.plug()
    console.run(SECOND)
    assert outside.messages() == [*SILENCE, (0xB2, 20, 127), *STOPS_OFF[1:], *SHOES_AT_REST]
    assert console.messages() == SHOES_AT_REST
    console.registers[0] = 0xFF
    console.run(50)
    assert console.messages() == outside.messages() == [(0x80, 36, 64)]


def test_a_host_that_leaves_in_the_middle_of_its_state_blocks_nothing(both: tuple[Console, Outside]) -> None:
    """The host goes while it is told of eight held keys; whoever asks by the wire afterwards is answered there."""
    console, outside = both
    console.registers[1] = 0x00
    console.run(SECOND)
    outside.plug()
    outside.stop_taking()
    console.run(SECOND // 10 + 100)
    outside.plug(plugged=False)
    console.run(SECOND)
    console.take()
    outside.send(bytes((0xF0, 0x7D, 0x02, 0xF7)))
    console.run(SECOND)
    assert console.messages() == [*STOPS_OFF, *SHOES_AT_REST]


def test_a_host_that_is_there_at_power_on_hears_the_beginning(tmp_path: Path) -> None:
    """Plugged in before the contacts have settled, the host gets what the wire gets: silence, then the state once."""
    slow = sample_by(1, 1).replace("#define POWER_ON_TICKS 40", "#define POWER_ON_TICKS 1000")
    console, outside = switched_on(build_console(tmp_path, slow))
    outside.plug()
    console.run(SECOND)
    assert outside.messages() == [*SILENCE, *STOPS_OFF, *SHOES_AT_REST]
    assert console.messages() == [*SILENCE, *SILENCE, *STOPS_OFF, *SHOES_AT_REST]


KEYS_ALONE = chain_of_keys(1, 4, MIDI_USB=1)
SHOE_ALONE = replace(
    chain_of_keys(1, 4, MIDI_USB=1), channels=[], shoes=[(0, 9, 0xB0, 11, 0, 0, 0, 3, 0, 1023, 2, (0, 1023), (0, 127))]
)


@pytest.mark.parametrize("table", [KEYS_ALONE, SHOE_ALONE])
@pytest.mark.parametrize("plugged_first", [True, False])
def test_a_host_that_need_be_told_no_state_hears_what_is_played(
    tmp_path: Path, table: ConsoleTable, plugged_first: bool
) -> None:
    """On a console that has no stops, a host that was there first, or comes later, gets all that the wire gets."""
    console, outside = switched_on(build_console(tmp_path, table))
    outside.plug(plugged_first)
    console.run(SECOND)
    outside.plug()
    console.run(SECOND)
    outside.packets()
    console.take()
    console.registers[0] = 0xFE
    console.counts[9] = 1023
    console.run(SECOND // 4)
    played = console.messages()
    assert played
    assert outside.messages() == played


def test_a_host_that_leaves_has_refused_nothing(both: tuple[Console, Outside]) -> None:
    """Unplugging is no refusal: what is played from then on goes by the wire alone, and nothing is counted."""
    console, outside = both
    outside.plug()
    console.run(SECOND)
    outside.plug(plugged=False)
    console.run(50)
    console.take()
    console.registers[0] = 0xFE
    console.run(50)
    assert console.messages() == [(0x90, 36, 100)]
    assert outside.counter("outlets_usb_refused") == 0
