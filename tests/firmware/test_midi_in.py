"""What comes in: read as MIDI 1.0 says, acted on where it is meant for us, counted otherwise, and never passed on."""

from __future__ import annotations

import random

import mido
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from retrofit.firmware.rows import TABLE_FORMAT
from tests.firmware.console import Console, build_console
from tests.firmware.outside import Outside
from tests.firmware.test_events import KEY_REGISTERS, PISTON_REGISTERS, STOP_REGISTERS, duties_table

SECOND = 4000
STATE_REQUEST = bytes((0xF0, 0x7D, 0x02, 0xF7))
IDENTITY_REQUEST = bytes((0xF0, 0x7E, 0x7F, 0x06, 0x01, 0xF7))
IDENTITY_REPLY = (0xF0, 0x7E, 0x00, 0x06, 0x02, 0x7D, 1, 0, 1, 0, TABLE_FORMAT, 0, 0, 0, 0xF7)
"""F0 7E device 06 02, manufacturer, family, member, revision, F7 (MIDI 1.0, general information)."""

FIRST_STOP = KEY_REGISTERS + PISTON_REGISTERS
STOPS = [(0xB2, number, 0) for number in range(8 * STOP_REGISTERS)]


def settled(console: Console) -> Console:
    """A console of duties past its start, every contact off, nothing left to send, the last answer long ago."""
    console.switch_on()
    for register in range(KEY_REGISTERS + PISTON_REGISTERS + STOP_REGISTERS):
        console.registers[register] = 0
    console.run(2 * SECOND)
    console.take()
    return console


def listening_table(**sizes: int) -> str:
    """The console of duties, whose keys are on channel 1 and pistons on channel 2, as C text."""
    table = duties_table()
    return type(table)(**{**table.__dict__, "channels": [0, 1], "sizes": {**table.sizes, **sizes}}).text()


@pytest.fixture(scope="module")
def compiled(tmp_path_factory: pytest.TempPathFactory) -> Console:
    """A console that takes no orders for its stops."""
    return build_console(tmp_path_factory.mktemp("in"), listening_table())


@pytest.fixture
def console(compiled: Console) -> Console:
    """The same, settled."""
    return settled(compiled)


@pytest.fixture(scope="module")
def listening_compiled(tmp_path_factory: pytest.TempPathFactory) -> Console:
    """A console that takes orders for its stops."""
    return build_console(tmp_path_factory.mktemp("orders"), listening_table(LISTEN_STOPS=1))


@pytest.fixture
def listening(listening_compiled: Console) -> Console:
    """The same, settled."""
    return settled(listening_compiled)


def counts(console: Console) -> tuple[int, int]:
    """Messages ignored and messages broken so far."""
    outside = Outside(console)
    return outside.counter("midi_in_ignored"), outside.counter("midi_in_broken")


def answer(console: Console, data: bytes, ticks: int = 400) -> list[tuple[int, ...]]:
    """What the console sends when `data` come in."""
    Outside(console).send(data)
    console.run(ticks)
    return console.messages()


@pytest.mark.parametrize(
    ("data", "ignored", "broken"),
    [
        ("90 3C 40", 1, 0),
        ("90 3C 40 3E 40 40 40", 3, 0),
        ("90 3C F8 40 FE 3E FA 40", 2, 0),
        ("C0 05 06 D0 07", 3, 0),
        ("F8 F9 FA FB FC FD FE FF", 0, 0),
        ("F1 05", 1, 0),
        ("F2 05 06", 1, 0),
        ("F3 05", 1, 0),
        ("F6", 1, 0),
        ("90 3C 40 F1 05 3E 40", 2, 2),
        ("3C 40", 0, 2),
        ("F4 3C", 0, 2),
        ("F5", 0, 1),
        ("F7", 0, 1),
        ("90 3C 80 3C 00", 1, 1),
        ("F0 7D 7D 02 F7", 1, 0),
        ("F0 7D 02 00 F7", 1, 0),
        ("F0 7D 01 00 05 F7", 1, 0),
        ("F0 7D 02 90 3C 40", 1, 1),
        ("F0 F0 F7", 1, 1),
        ("F0 F7", 1, 0),
        ("F0 7E 7F 06 01 00 F7", 1, 0),
        ("F0 7E 10 06 01 F7", 1, 0),
        ("B5 7B 00", 1, 0),
        ("B0 40 7F", 1, 0),
    ],
)
def test_bytes_are_read_as_the_standard_says(console: Console, data: str, ignored: int, broken: int) -> None:
    """Running status, real-time bytes, system common, undefined statuses and cut messages (MIDI 1.0): counted right.

    None of these asks for anything of ours, and none is answered.
    """
    assert answer(console, bytes.fromhex(data)) == []
    assert counts(console) == (ignored, broken)


def test_a_system_exclusive_message_without_end_is_waited_out(console: Console) -> None:
    """Ten thousand bytes of system exclusive are one message that asks for nothing; what follows is read again."""
    outside = Outside(console)
    outside.send(b"\xf0")
    for _ in range(100):
        outside.send(bytes(100))
        console.run(20)
    assert answer(console, b"\xf7" + IDENTITY_REQUEST) == [IDENTITY_REPLY]
    assert counts(console) == (1, 0)


def test_the_identity_request_is_answered(console: Console) -> None:
    """F0 7E 7F 06 01 F7 is answered by an Identity Reply of the non-commercial manufacturer 7D, once for each."""
    assert answer(console, IDENTITY_REQUEST) == [IDENTITY_REPLY]
    assert answer(console, bytes((0xF0, 0x7E, 0x00, 0x06, 0x01, 0xF7))) == [IDENTITY_REPLY]
    assert mido.Message.from_bytes(IDENTITY_REPLY).type == "sysex"


def test_a_note_goes_into_the_identity_reply_and_cuts_it(console: Console) -> None:
    """A note does not wait for the reply's end; the reply is given up and sent again whole."""
    Outside(console).send(IDENTITY_REQUEST)
    console.run(8)
    console.registers[0] = 0x01
    console.run(200)
    sent = console.take()
    note = sent.index(bytes((0x90, 0, 100)))
    assert sent[:note] == bytes(IDENTITY_REPLY)[:note]
    assert 0 < note < len(IDENTITY_REPLY) - 1
    assert sent[note + 3 :] == bytes(IDENTITY_REPLY)


def test_state_is_sent_again_on_request(console: Console) -> None:
    """F0 7D 02 F7: every stop is said as it stands, and no key."""
    console.registers[FIRST_STOP] = 0x04
    console.registers[0] = 0x01
    console.run(100)
    console.take()
    stops = [(0xB2, number, 127 if number == 2 else 0) for number in range(len(STOPS))]
    assert answer(console, STATE_REQUEST) == stops


def test_a_flood_of_requests_is_answered_once_a_second(console: Console) -> None:
    """However often the state is asked for, it is sent at most once a second, and a key is heard in between."""
    outside = Outside(console)
    for step in range(3 * SECOND // 8):
        outside.send(STATE_REQUEST)
        if step == SECOND // 8:
            console.registers[0] = 0x01
        console.run(8)
    messages = console.messages()
    assert messages.count((0xB2, 0, 0)) in {3, 4}
    assert messages.count((0x90, 0, 100)) == 1


@pytest.mark.parametrize("controller", [120, 123])
def test_all_notes_off_silences_our_channel(console: Console, controller: int) -> None:
    """Keys that sound get their off, which nothing can be sounding after; held, they are muted until released.

    All Sound Off is controller 120, All Notes Off 123 (MIDI 1.0, channel mode messages).  It is not passed on.
    """
    console.registers[0] = 0x05
    console.run(100)
    console.take()
    assert answer(console, bytes((0xB0, controller, 0))) == [(0x80, 0, 64), (0x80, 2, 64)]
    console.registers[0] = 0x00
    console.run(100)
    assert console.messages() == []
    console.registers[0] = 0x04
    console.run(100)
    assert console.messages() == [(0x90, 2, 100)]


def test_all_notes_off_of_another_channel_leaves_ours_alone(console: Console) -> None:
    """Silence on channel 2 ends a piston's note there, and no key of channel 1."""
    console.registers[0] = 0x01
    console.registers[KEY_REGISTERS] = 0x02
    console.run(100)
    console.take()
    assert answer(console, bytes((0xB1, 123, 0))) == [(0x81, 1, 64)]
    console.registers[0] = 0x00
    console.run(100)
    assert console.messages() == [(0x80, 0, 64)]


def test_a_note_that_meets_all_notes_off_never_hangs(console: Console) -> None:
    """Keys pressed and released at any moment around an All Notes Off: at the end nothing sounds at the receiver."""
    hands = random.Random(3)
    outside = Outside(console)
    sounding: set[int] = set()
    for _ in range(400):
        console.registers[hands.randrange(4)] = hands.getrandbits(8)
        if hands.random() < 0.3:
            outside.send(bytes((0xB0, 123, 0)))
        console.run(hands.choice((1, 2, 9)))
    for register in range(4):
        console.registers[register] = 0
    console.run(1000)
    for status, number, _ in console.messages():
        (sounding.add if status == 0x90 else sounding.discard)(number)
    assert not sounding


def test_an_order_that_the_tab_obeys_is_not_echoed(listening: Console) -> None:
    """A stop's own message comes in and its tab moves there: nothing is sent, neither then nor after the wait."""
    outside = Outside(listening)
    outside.send(bytes((0xB2, 3, 127)))
    listening.run(SECOND // 10)
    listening.registers[FIRST_STOP] = 0x08
    listening.run(SECOND)
    assert listening.messages() == []
    assert counts(listening) == (0, 0)
    listening.registers[FIRST_STOP] = 0x00
    listening.run(100)
    assert listening.messages() == [(0xB2, 3, 0)]


def test_a_tab_that_stays_is_reported_after_the_wait(listening: Console) -> None:
    """Half a second after the order the tab has not moved: how it truly stands is said, once."""
    Outside(listening).send(bytes((0xB2, 3, 127)))
    listening.run(SECOND * 4 // 10)
    assert listening.messages() == []
    listening.run(SECOND * 2 // 10)
    assert listening.messages() == [(0xB2, 3, 0)]
    listening.run(SECOND)
    assert listening.messages() == []


def test_an_order_waits_for_what_the_console_has_to_say(listening: Console) -> None:
    """A stop's off waits for the wire when an order draws it and the tab obeys: the receiver ends with it drawn."""
    listening.registers[FIRST_STOP] = 0x08
    listening.run(100)
    listening.hold_wire(held=True)
    listening.registers[FIRST_STOP] = 0xF8
    listening.run(20)
    listening.registers[FIRST_STOP] = 0xF0
    listening.run(20)
    Outside(listening).send(bytes((0xB2, 3, 127)))
    listening.run(20)
    listening.registers[FIRST_STOP] = 0xF8
    listening.run(20)
    listening.hold_wire(held=False)
    listening.run(SECOND)
    assert [message for message in listening.messages() if message[1] == 3][-1] == (0xB2, 3, 127)


def test_a_whole_combination_is_taken_at_the_speed_of_the_wire(listening: Console) -> None:
    """Forty orders under running status, at 31,250 baud, are all taken: none is echoed when the tabs follow."""
    outside = Outside(listening)
    data = bytes((0xB2,)) + b"".join(bytes((number, 127)) for number in range(len(STOPS)))
    for start in range(0, len(data), 4):
        outside.send(data[start : start + 4])
        listening.run(5)
    for register in range(STOP_REGISTERS):
        listening.registers[FIRST_STOP + register] = 0xFF
    listening.run(2 * SECOND)
    assert listening.messages() == []
    assert counts(listening) == (0, 0)


@pytest.mark.parametrize("data", ["B2 03 40", "B2 7F 7F", "92 03 7F", "C2 03", "90 00 64"])
def test_other_messages_are_no_orders(listening: Console, data: str) -> None:
    """What is not exactly a stop's own message, also a key's, is ignored and counted."""
    assert answer(listening, bytes.fromhex(data), ticks=SECOND) == []
    assert counts(listening) == (1, 0)


def test_without_the_wish_orders_are_ignored(console: Console) -> None:
    """Where the job does not ask for it, a stop's message that comes in changes nothing."""
    assert answer(console, bytes((0xB2, 3, 127)), ticks=SECOND) == []
    assert counts(console) == (1, 0)
    console.registers[FIRST_STOP] = 0x08
    console.run(100)
    assert console.messages() == [(0xB2, 3, 127)]


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.binary(max_size=300))
def test_nothing_that_comes_in_goes_out_as_it_came(listening_compiled: Console, data: bytes) -> None:
    """Whatever bytes come in, a console at rest sends replies, the state of its stops, and nothing else.

    Each stop is off; so an order for one can only be answered by its off.
    """
    console = settled(listening_compiled)
    Outside(console).send(data)
    console.run(2 * SECOND)
    assert set(console.messages()) <= {IDENTITY_REPLY, *STOPS}


def test_keys_are_played_through_noise(listening: Console) -> None:
    """Fifty thousand seeded random bytes, keys moving meanwhile: all are taken, and the end state is true."""
    hands = random.Random(1)
    outside = Outside(listening)
    for _ in range(500):
        outside.send(hands.randbytes(100))
        listening.registers[hands.randrange(KEY_REGISTERS)] = hands.getrandbits(8)
        listening.run(40)
    for register in range(KEY_REGISTERS):
        listening.registers[register] = 0
    listening.run(2 * SECOND)
    assert listening.library.host_wire_in_waiting() == 0
    on: set[int] = set()
    for message in listening.messages():
        if message[0] in {0x90, 0x80}:
            (on.add if message[0] == 0x90 else on.discard)(message[1])
    assert not on
    assert min(counts(listening)) > 1000
