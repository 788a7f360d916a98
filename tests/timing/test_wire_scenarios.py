"""What the wire carries, with verdicts: arithmetic from 320 µs a byte (IEC 63035:2017, 4.1) and 16 events a packet."""

from __future__ import annotations

import pytest

from retrofit.midi.messages import control_change, note_off, note_on
from retrofit.timing.split import fewest_ports, split_over
from retrofit.timing.wire import by_channel
from retrofit.timing.wire_kinds import DinWire, UsbWire
from retrofit.timing.wire_scenarios import ConsoleMessages, OnOff, Scenario, scenarios, timed, tutti
from retrofit.timing.wire_verdicts import NOTES_TOGETHER_US, Carries, WireVerdict, judge

FINE, ACCEPTABLE = WireVerdict.FINE, WireVerdict.ACCEPTABLE
NEAR_LIMIT, TOO_MUCH = WireVerdict.NEAR_LIMIT, WireVerdict.TOO_MUCH
NOTES, STATES, STREAM = Carries.NOTES, Carries.STATES, Carries.STREAM


def key(channel: int, note: int) -> OnOff:
    """Return a key whose end is a note-on of velocity 0."""
    return OnOff(note_on(channel, note, 100), note_on(channel, note, 0))


STOPS = [control_change(6, number, 127) for number in range(48)]
GLISSANDO = [m for note in range(36, 97) for m in (note_on(1, note, 100), note_on(1, note, 0))]
TUTTI = [note_on(channel, 48 + i, 100) for i in range(10) for channel in range(1, 9)]
SHOE = [control_change(1, 11, value) for value in range(127)]
STANDALONE = [note_on(1 + stop % 16, 36 + held + stop // 16 * 20, 100) for held in range(10) for stop in range(48)]
WIDE = [control_change(shoe, number, 0) for shoe in range(1, 4) for number in (11, 43)]

TABLE = [
    ("48 stops", STATES, STOPS, None, 46.08, ACCEPTABLE, 31.04, ACCEPTABLE),
    ("48 stops of 3", STATES, STOPS * 3, None, 138.24, NEAR_LIMIT, 92.48, NEAR_LIMIT),
    ("48 stops of 4", STATES, STOPS * 4, None, 184.32, TOO_MUCH, 123.2, NEAR_LIMIT),
    ("chord", NOTES, GLISSANDO[:20:2], None, 9.6, FINE, 6.72, FINE),
    ("glissando", STREAM, GLISSANDO, 500, 117.12, FINE, 78.4, FINE),
    ("three ranks", STREAM, GLISSANDO * 3, 500, 351.36, NEAR_LIMIT, 234.56, NEAR_LIMIT),
    ("tutti", NOTES, list(by_channel(TUTTI)), None, 76.8, TOO_MUCH, 53.76, TOO_MUCH),
    ("shoe sweep", STREAM, SHOE, 300, 121.92, NEAR_LIMIT, 81.6, FINE),
    ("shoe, one in 10 ms", STREAM, SHOE[:30], 300, 28.8, FINE, 19.52, FINE),
    ("14-bit shoe", STREAM, WIDE[:2], 10, 1.92, FINE, 1.6, FINE),
    ("three 14-bit shoes", STREAM, WIDE, 10, 5.76, NEAR_LIMIT, 4.8, NEAR_LIMIT),
    ("48 stops on 10 held notes", NOTES, list(by_channel(STANDALONE)), None, 460.8, TOO_MUCH, 312.32, TOO_MUCH),
]


@pytest.mark.parametrize(
    ("carries", "messages", "within_ms", "plain_ms", "plain", "running_ms", "running"),
    [row[1:] for row in TABLE],
    ids=[str(row[0]) for row in TABLE],
)
def test_bursts_and_their_verdicts(
    carries: Carries,
    messages: list[bytes],
    within_ms: int | None,
    plain_ms: float,
    plain: WireVerdict,
    running_ms: float,
    running: WireVerdict,
) -> None:
    """Milliseconds and verdict of each burst, plain and with running status (verdicts: common practice, no source)."""
    scenario = Scenario("x", "x", carries, tuple(messages), None if within_ms is None else within_ms * 1000)
    found = [timed(scenario, DinWire(running_status)) for running_status in (False, True)]
    assert [round(one.time.nominal_us / 1000, 2) for one in found] == [plain_ms, running_ms]
    assert [one.judgement.verdict for one in found] == [plain, running]


def test_a_stream_needs_its_length() -> None:
    """A stream without the time that it lasts cannot be judged."""
    with pytest.raises(ValueError, match="share of the wire"):
        judge(STREAM, 1000.0)
    assert judge(STREAM, 1000.0, 0.81).verdict is TOO_MUCH


def test_notes_hardly_heard_as_a_spread() -> None:
    """Between 10 and 22 ms notes are acceptable; the limits themselves still belong to the better side."""
    assert [judge(NOTES, us).verdict for us in (10_000, 10_001, 22_000, 22_001)] == [
        FINE,
        ACCEPTABLE,
        ACCEPTABLE,
        TOO_MUCH,
    ]
    assert judge(STATES, 10_000).verdict is FINE


@pytest.mark.parametrize(
    ("events", "bytes_sent", "usual_ms", "worst_ms"),
    [(0, 0, 0, 0), (1, 4, 2, 2), (16, 64, 2, 2), (17, 68, 2, 3), (80, 320, 2, 6), (305, 1220, 3, 21)],
)
def test_usb(events: int, bytes_sent: int, usual_ms: int, worst_ms: int) -> None:
    """80 events are 5 packets; 19 packets, 304 events, fit a frame (USB 2.0, 5.8.3; USB MIDI 1.0, clause 4)."""
    time = UsbWire().time([note_on(1, 60, 1)] * events)
    assert (time.bytes, time.nominal_us, time.us_max) == (bytes_sent, usual_ms * 1000, worst_ms * 1000)


CONSOLE = ConsoleMessages(
    keys=(tuple(key(1, note) for note in range(36, 97)), tuple(key(2, note) for note in range(36, 68))),
    pistons=(OnOff(note_on(3, 1, 100), note_on(3, 1, 0)),),
    stops=tuple(OnOff(control_change(3, i, 127), control_change(3, i, 0)) for i in range(20)),
    shoes=((control_change(1, 11, 0),),),
    shoe_interval_us=10_000,
)


def messages_of(scenario_id: str, console: ConsoleMessages = CONSOLE) -> tuple[bytes, ...]:
    """Return the messages of one scenario."""
    return next(scenario.messages for scenario in scenarios(console) if scenario.id == scenario_id)


def test_a_console_is_asked_for_everything_it_has() -> None:
    """A console with keys, stops and shoes gets every scenario, one without sends nothing and gets none."""
    assert [scenario.id for scenario in scenarios(CONSOLE)] == [
        "chord",
        "glissando",
        "tutti",
        "tutti-by-channel",
        "combination",
        "chord-and-combination",
        "shoes",
        "power-on",
        "panic",
    ]
    assert scenarios(ConsoleMessages((), (), (), (), 10_000)) == ()


def test_urgent_messages_go_first() -> None:
    """Notes of hands and feet, then the piston, then stops, then shoes."""
    sent = messages_of("chord-and-combination")
    assert [message[0] for message in sent] == [0x90] * 10 + [0x91] * 2 + [0x92] + [0xB2] * 20 + [0xB0]


def test_stops_change_both_ways() -> None:
    """Half of the stops go on and half off, so that note-offs of their own status break running status."""
    stops = tuple(OnOff(note_on(3, i, 100), note_off(3, i)) for i in range(4))
    console = ConsoleMessages((), (), stops, (), 10_000)
    assert [message[0] for message in messages_of("combination", console)] == [0x92, 0x82, 0x92, 0x82]


def test_power_on_and_panic() -> None:
    """At power-on each note channel is silenced and states follow; a panic ends held notes before it silences."""
    start, panic = messages_of("power-on"), messages_of("panic")
    assert start[:2] == (control_change(1, 123, 0), control_change(2, 123, 0))
    assert len(start) == 2 + 20 + 1
    assert [message[2] for message in panic[:12]] == [0] * 12
    assert panic[12:14] == (control_change(1, 64, 0), control_change(1, 123, 0))


@pytest.mark.parametrize(
    ("messages", "running", "milliseconds"),
    [
        ([control_change(c, 123, 0) for c in range(1, 17)], True, 15.36),
        ([control_change(c, n, 0) for c in range(1, 17) for n in (120, 121, 123)], False, 46.08),
        ([control_change(c, n, 0) for c in range(1, 17) for n in (120, 121, 123)], True, 35.84),
        ([note_off(c, n) for c in range(1, 17) for n in range(128)], True, 1315.84),
    ],
)
def test_ways_of_silencing(messages: list[bytes], running: bool, milliseconds: float) -> None:
    """All Notes Off on 16 channels 15.4 ms, three controllers 46.1 or 35.8 ms, every single note 1.316 s."""
    assert round(DinWire(running).time(messages).nominal_us / 1000, 2) == milliseconds


def test_a_tutti_is_split_by_channel() -> None:
    """Eight channels of ten notes over two ports: four each, 40 messages; no channel leaves its port."""
    wire = DinWire(running_status=False)
    found = split_over(TUTTI, wire, 2)
    assert [len(port) for port in found.ports] == [4, 4]
    assert sorted(channel for port in found.ports for channel in port) == list(range(1, 9))
    assert found.us_max == pytest.approx(40 * 960 / 0.99)


def test_the_fewest_ports_are_found() -> None:
    """Five channels of ten notes need three ports to stay within 22 ms plain; one that is short needs one."""
    struck = tutti([[key(channel, 36 + i) for i in range(10)] for channel in range(1, 6)])
    found = fewest_ports(struck, DinWire(running_status=False), NOTES_TOGETHER_US)
    assert found is not None
    assert len(found.ports) == 3
    assert fewest_ports(struck[:10], DinWire(running_status=False), NOTES_TOGETHER_US) == split_over(
        struck[:10], DinWire(running_status=False), 1
    )


def test_a_single_channel_cannot_be_split() -> None:
    """Thirty notes of one channel take 29 ms plain, over however many ports."""
    assert fewest_ports([note_on(1, n, 100) for n in range(30)], DinWire(False), NOTES_TOGETHER_US) is None
