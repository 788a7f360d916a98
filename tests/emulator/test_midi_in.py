"""MIDI in while a console is played: every order is obeyed, nothing is echoed, and no stroke is lost or late."""

from __future__ import annotations

from collections import Counter
from itertools import cycle as repeated
from itertools import islice
from random import Random

import pytest

from tests.emulator.bounce import Burst, random_burst
from tests.emulator.harness import CYCLES_PER_US, Seen, cycles
from tests.emulator.listening_console import (
    PANIC,
    Sender,
    decode_with_cut,
    judged,
    listen,
    listening_console,
    noise,
    points_of,
)
from tests.emulator.midi_stream import BYTE_CYCLES, TimedMessage, decode
from tests.emulator.playing import LATE_TICK_US, Performance, clean_strokes, last_points, play_everything, play_round
from tests.emulator.proof import Change

pytestmark = pytest.mark.emulator

SEED = 23
STATE_REQUEST = bytes((0xF0, 0x7D, 0x02, 0xF7))
IDENTITY_REQUEST = bytes((0xF0, 0x7E, 0x7F, 0x06, 0x01, 0xF7))
"""Identity Request to every device (MIDI 1.0, universal non-real-time system exclusive)."""
ALL_NOTES_OFF = bytes((0xB0, 123, 0))
"""MIDI 1.0, channel mode messages."""
CHANNELS = range(3)
CHORD = tuple(f"great.{note}" for note in (38, 45, 50, 57, 62, 69, 78, 90))
ORDER_WAIT_US = 500_000
PANIC_US = 2_000_000


def stop(number: int, on: bool) -> bytes:
    """Return the message of a tab: what it sends, and what orders it."""
    message = next(each.message for each in listening_console().plan.points if each.point.id == f"rail.s{number}")
    assert message is not None
    return message.on if on else message.off


def stop_heads() -> frozenset[bytes]:
    """Return the first two bytes of all messages of tabs."""
    return frozenset(stop(number, True)[:2] for number in range(1, 17))


def began() -> Performance:
    """Return an empty performance that begins when the console listens to its contacts."""
    return Performance(end_us=listening_console().listening_us)


def play_until(played: Performance, rng: Random, until_us: float, *groups: str) -> None:
    """Play the points of some groups again and again, until a moment is passed."""
    while played.end_us < until_us:
        play_round(listening_console().stage, points_of(*groups), rng, played)


def worked(seen: Seen) -> bool:
    """Whether no model complained, no byte was lost in the receiver, and the board never started again."""
    return seen.problems == {} and len(seen.restarts) == 1


def messages_of_stops(seen: Seen) -> list[TimedMessage]:
    """Return what was said of tabs after the start."""
    begin = cycles(us=listening_console().listening_us)
    return [each for each in decode(seen.midi).messages if each.begins >= begin and each.data[:2] in stop_heads()]


def test_only_the_beginning_of_a_reply_passes_for_one_that_was_cut() -> None:
    """Two beginnings of a reply, each cut by a status, are messages; a byte that the reply does not hold stays stray,
    and so does an echoed data byte.
    """
    reply = bytes((0xF0, 0x7E, 0x00, 0x06, 0xF7))
    sent = (0xF0, 0x90, 1, 1, 0xF0, 0x7E, 0x90, 2, 2, 0xF0, 0x7D, 0x90, 3, 3, *reply, 5)
    heard = decode_with_cut(tuple((BYTE_CYCLES * turn, byte) for turn, byte in enumerate(sent)), reply)
    assert [each.data[:2] for each in heard.messages if each.data[0] == 0xF0] == [reply[:1], reply[:2], reply[:2]]
    assert [stray.byte for stray in heard.strays] == [0xF0, 0x7D, 5]


def test_state_and_identity_are_answered_amid_playing() -> None:
    """Each request, made while 98 keys and 8 pistons are played, is answered once: all tabs as they stand, and who this
    is.  No stroke is lost, doubled, echoed or late.
    """
    drawn = {2, 3, 11, 16}
    played, sender, rng = began(), Sender(), Random(SEED)
    start_us = played.end_us
    for turn in range(3):
        sender.say(start_us + 200_000 + turn * 1_150_000, STATE_REQUEST)
        sender.say(start_us + 500_000 + turn * 900_000, IDENTITY_REQUEST)
    play_until(played, rng, start_us + 2_900_000, "great", "swell", "slip")
    seen = listen(played, sender, held=[f"rail.s{number}" for number in drawn], tail_ms=400)
    reply = next(each.data for each in decode(seen.midi).messages if each.data[0] == 0xF0)
    heard = decode_with_cut(seen.midi, reply)
    verdict = judged(played, heard, stop_heads() | {reply[:2], reply[:1]})
    assert verdict.sound, verdict.report()
    assert verdict.changes == verdict.messages >= 400
    assert [each.data for each in heard.messages].count(reply) == 3
    assert reply[:2] + reply[3:6] == bytes((0xF0, 0x7E, 0x06, 0x02, 0x7D))
    report = [stop(number, number in drawn) for number in range(1, 17)]
    assert [each.data for each in messages_of_stops(seen)] == report * 3
    assert worked(seen)


def test_all_notes_off_ends_what_sounds_there_alone() -> None:
    """A chord that is held on channel 1 gets its offs when All Notes Off comes in there, and none when it is released;
    channel 2, which is played meanwhile, notices nothing, and the chord sounds again when it is struck again.
    """
    played, sender, rng = began(), Sender(), Random(SEED)
    stage, start_us = listening_console().stage, played.end_us
    for key in CHORD:
        played.add(stage, key, Burst(((start_us + 20_000, True),)))
    ordered_us = sender.say(start_us + 400_000, ALL_NOTES_OFF)
    for key in CHORD:
        played.changes.append(Change(key, False, cycles(us=ordered_us), cycles(us=ordered_us)))
        played.disturb(stage, key, random_burst(rng, start_us + 600_000, False, 1000).edges)
        played.add(stage, key, random_burst(rng, start_us + 700_000, True, 1000))
        played.add(stage, key, random_burst(rng, start_us + 800_000, False, 1000))
    played.end_us = start_us
    play_until(played, rng, start_us + 900_000, "swell")
    seen = listen(played, sender)
    verdict = judged(played, decode(seen.midi), frozenset())
    assert verdict.sound, verdict.report()
    assert verdict.changes == verdict.messages >= 4 * len(CHORD) + 2 * 37
    assert worked(seen)


def test_orders_for_tabs_are_answered_by_their_standing_still_alone() -> None:
    """A tab that moves as ordered is not heard of, nor one that stands so already; one that stays is said as it stands
    half a second after its order.  Both manuals are played all the while.
    """
    played, sender, rng = began(), Sender(), Random(SEED)
    stage, start_us = listening_console().stage, played.end_us
    sender.say(start_us + 50_000, stop(1, True) + stop(3, False))
    played.disturb(stage, "rail.s1", random_burst(rng, start_us + 200_000, True, 1000).edges)
    ordered_us = sender.say(start_us + 900_000, stop(2, True))
    play_until(played, rng, start_us + 1_600_000, "great", "swell")
    seen = listen(played, sender)
    verdict = judged(played, decode(seen.midi), stop_heads())
    assert verdict.sound, verdict.report()
    assert verdict.changes == verdict.messages >= 2 * 98
    (said,) = messages_of_stops(seen)
    assert said.data == stop(2, False)
    late_us = said.begins / CYCLES_PER_US - ordered_us - ORDER_WAIT_US
    assert -500 <= late_us <= 5_000
    assert worked(seen)


def test_two_pistons_held_for_two_seconds_end_everything() -> None:
    """A held chord and the pistons themselves get their offs once, every channel its damper and All Notes Off, and the
    tabs are said anew; what is let go later is not heard, and keys struck amid all this are in time.
    """
    played, sender, rng = began(), Sender(), Random(SEED)
    stage, start_us = listening_console().stage, played.end_us
    for point, at_us in (*((key, start_us + 20_000) for key in CHORD), *((p, start_us + 100_000) for p in PANIC)):
        played.add(stage, point, Burst(((at_us, True),)))
    debounce_us = points_of("slip")[PANIC[0]].press_latency_us_max
    panic_us = start_us + 100_000 + PANIC_US
    for point in (*CHORD, *PANIC):
        played.changes.append(Change(point, False, cycles(us=panic_us), cycles(us=panic_us + debounce_us)))
        played.disturb(stage, point, random_burst(rng, panic_us + 300_000, False, 1000).edges)
    played.end_us = start_us
    # A round of the smaller manual takes at most 0.4 s.
    play_until(played, rng, panic_us - 500_000, "swell")
    assert played.end_us < panic_us
    for turn, key in enumerate(tuple(points_of("swell"))[::6]):
        played.add(stage, key, Burst(((panic_us + 20_000 + turn * 2_000, True),)))
        played.add(stage, key, Burst(((panic_us + 80_000 + turn * 2_000, False),)))
    play_until(played, rng, panic_us + 400_000, "swell")
    seen = listen(played, sender)
    modes = {bytes((0xB0 | channel, controller)) for channel in CHANNELS for controller in (64, 123)}
    heard = decode(seen.midi)
    verdict = judged(played, heard, stop_heads() | modes)
    assert verdict.sound, verdict.report()
    assert verdict.changes == verdict.messages
    begin = cycles(us=listening_console().listening_us)
    sent = Counter(each.data[:2] for each in heard.messages if each.begins >= begin)
    assert {head: sent[head] for head in modes | stop_heads()} == dict.fromkeys(modes | stop_heads(), 1)
    assert worked(seen)


FLOODS = {
    "noise": noise(Random(SEED), 4096),
    "our own notes": bytes((0x90, *range(36, 97), *range(36, 96))),
    "controllers of no tab": bytes((0xB5, *range(64), *range(64))),
    "an exclusive message without end": bytes((0xF0, *[0x7D] * 4095)),
}


def flood(kind: str, until_us: float) -> Sender:
    """Return a sender that never pauses: every byte follows the one before at once."""
    begin_us = listening_console().listening_us
    sender = Sender()
    sender.say(
        begin_us, bytes(islice(repeated(FLOODS[kind]), int((until_us - begin_us) * CYCLES_PER_US / BYTE_CYCLES)))
    )
    return sender


@pytest.mark.parametrize("kind", FLOODS)
def test_a_flood_at_the_wires_full_rate_delays_nothing(kind: str) -> None:
    """Presses on an idle outgoing wire stay within their prediction, every one of them, and nothing is answered.  No
    scan is left out, and none is later than the guarantees allow for.
    """
    this = listening_console()
    played = clean_strokes(this, Random(SEED), last_points(this.plan), 8)
    seen = listen(played, flood(kind, played.end_us))
    verdict = judged(played, decode(seen.midi), frozenset())
    assert verdict.sound, verdict.report()
    assert verdict.changes == verdict.messages == 2 * 8 * 4
    for group in points_of("great", "swell", "rail", "slip").values():
        assert max(verdict.latencies[group.id].press_us) <= group.press_latency_us_max
    period, interval = cycles(us=this.plan.tick_us), seen.scans["interval"]
    assert interval["mean"] == pytest.approx(period, rel=1 / interval["count"])
    assert interval["max"] <= period + cycles(us=LATE_TICK_US)
    assert worked(seen)


def test_noise_at_the_wires_full_rate_loses_no_stroke() -> None:
    """Every key, tab and piston is pressed and released with bounce while bytes drawn by chance come in without pause:
    each one is heard once, in time, and nothing else is.
    """
    this = listening_console()
    played = play_everything(this, Random(SEED))
    seen = listen(played, flood("noise", played.end_us))
    verdict = judged(played, decode(seen.midi), frozenset())
    assert verdict.sound, verdict.report()
    assert verdict.changes == verdict.messages == 2 * (61 + 37 + 16 + 8)
    assert worked(seen)
