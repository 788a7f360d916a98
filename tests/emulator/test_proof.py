"""The comparison itself: fed with doctored streams it must name each fault, and pass what is sound."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from retrofit.midi.messages import PointMessage
from tests.emulator.midi_stream import BYTE_CYCLES, decode
from tests.emulator.proof import Change, Fault, Promise, Verdict, judge

MS = 16_000
KEY = PointMessage(b"\x90\x24\x64", b"\x90\x24\x00")
OTHER = PointMessage(b"\x91\x30\x64", b"\x91\x30\x00")
PROMISED = {"great.36": Promise("great", KEY, 3000, 12000), "swell.48": Promise("swell", OTHER, 3000, 12000)}
CHANGES = [
    Change("great.36", True, 100 * MS, 101 * MS),
    Change("great.36", False, 200 * MS, 203 * MS),
    Change("swell.48", True, 300 * MS, 300 * MS),
]

Sent = tuple[float, bytes]
SOUND: list[Sent] = [(100.5, KEY.on), (210, KEY.off), (301, OTHER.on)]


def stream(sent: Sequence[Sent]) -> list[tuple[int, int]]:
    """Return the bytes of messages that begin at the given milliseconds, each message without a gap."""
    return [
        (round(ms * MS) + place * BYTE_CYCLES, byte) for ms, data in sorted(sent) for place, byte in enumerate(data)
    ]


def judged(sent: Sequence[Sent], changes: Sequence[Change] = CHANGES, gap_us: float = 50) -> Verdict:
    """Judge a stream against the three changes above."""
    return judge(PROMISED, changes, decode(stream(sent)), scan_gap_us=gap_us)


def faults(verdict: Verdict) -> list[tuple[Fault, str]]:
    """Return what was found, without the words."""
    return [(violation.fault, violation.subject) for violation in verdict.violations]


def test_a_sound_stream_passes_and_is_measured() -> None:
    """Every change with its one message in time: no violation, and the latencies of each group in microseconds."""
    verdict = judged(SOUND)
    assert verdict.sound, verdict.report()
    assert (verdict.changes, verdict.messages) == (3, 3)
    assert verdict.latencies["great"].press_us == [pytest.approx(-500 + 960)]
    assert verdict.latencies["great"].release_us == [pytest.approx(7000 + 960)]
    assert verdict.latencies["swell"].press_us == [pytest.approx(1000 + 960)]


@pytest.mark.parametrize("left_out", range(3))
def test_a_missing_message_is_named(left_out: int) -> None:
    """Whichever message is left out, its point is named, with what was predicted."""
    verdict = judged([each for at, each in enumerate(SOUND) if at != left_out])
    assert faults(verdict) == [(Fault.MISSING, CHANGES[left_out].point)]
    assert "predicted 9" in verdict.report()


@pytest.mark.parametrize("twice", range(3))
def test_a_doubled_message_is_named(twice: int) -> None:
    """A message sent once more for the same change is named."""
    at, data = SOUND[twice]
    assert faults(judged([*SOUND, (at + 20, data)])) == [(Fault.DOUBLED, CHANGES[twice].point)]


@pytest.mark.parametrize(("late_by_ms", "late"), [(0.0, False), (0.02, True), (3, True)])
def test_a_late_message_is_named(late_by_ms: float, late: bool) -> None:
    """A press settled at 300 ms must have left at 303 ms: later with an idle wire is late, whatever the scan's gap."""
    begins = 303 - 0.96 + late_by_ms
    verdict = judged([*SOUND[:2], (begins, OTHER.on)], gap_us=50)
    assert faults(verdict) == ([(Fault.LATE, "swell.48")] if late else [])
    assert not late or "predicted 3000.0 µs" in verdict.report()


def test_a_message_behind_others_may_wait_for_them() -> None:
    """Ten messages ahead excuse their own length, and the scan's gap before each; not more."""
    shoe = b"\xb2\x0b\x40"
    ahead: list[Sent] = [(302.0 + 0.97 * turn, shoe) for turn in range(10)]

    def behind(begins: float) -> Verdict:
        decoded = decode(stream([*ahead, (begins, OTHER.on)]))
        return judge(PROMISED, [CHANGES[2]], decoded, scan_gap_us=12, ignored=frozenset({shoe[:2]}))

    assert behind(302 + 9.7).sound, behind(302 + 9.7).report()
    assert faults(behind(302 + 9.9)) == [(Fault.LATE, "swell.48")]


@pytest.mark.parametrize(
    ("extra", "fault", "subject"),
    [
        ((150.0, b"\x92\x40\x64"), Fault.EXTRA, "wire"),
        ((150.0, KEY.off), Fault.EXTRA, "great.36"),
        ((50.0, KEY.on), Fault.EARLY, "great.36"),
        ((350.0, OTHER.off), Fault.EXTRA, "swell.48"),
    ],
    ids=["nobody's", "broken note", "before the press", "release without one"],
)
def test_an_extra_message_is_named(extra: Sent, fault: Fault, subject: str) -> None:
    """A message of no point, a note broken off, a message before its press and one after it are named."""
    assert faults(judged([*SOUND, extra])) == [(fault, subject)]


def test_a_tap_may_be_over_before_its_press_is_sent() -> None:
    """A press message that leaves after the release has begun answers the press; one that is not sent is missed."""
    tap = [Change("great.36", True, 100 * MS, 100 * MS), Change("great.36", False, 101 * MS, 101 * MS)]
    assert judged([(101.5, KEY.on), (110, KEY.off)], tap).sound
    assert faults(judged([(110, KEY.off)], tap)) == [(Fault.MISSING, "great.36")]
    assert faults(judged([(101.5, KEY.on)], tap)) == [(Fault.MISSING, "great.36")]
    assert faults(judged([(104, KEY.on), (110, KEY.off)], tap)) == [(Fault.LATE, "great.36")]


def test_an_extra_byte_is_named() -> None:
    """A single byte that belongs to no message is named with its value."""
    decoded = decode(sorted([*stream(SOUND), (250 * MS, 0xF4)]))
    verdict = judge(PROMISED, CHANGES, decoded)
    assert faults(verdict) == [(Fault.EXTRA, "wire")]
    assert "byte F4" in verdict.report()


def test_a_point_that_was_not_touched_must_be_silent() -> None:
    """A message of a point without any change is extra, naming the point."""
    verdict = judged([*SOUND[:2], (301, OTHER.on)], CHANGES[:2])
    assert faults(verdict) == [(Fault.EXTRA, "swell.48")]


def test_a_point_that_promises_nothing_must_be_silent() -> None:
    """A contact left out on purpose may move as it likes: nothing may be heard, and nothing is missing."""
    verdict = judged(SOUND, [*CHANGES, Change("great.37", True, 150 * MS, 150 * MS)])
    assert verdict.sound, verdict.report()


def test_what_was_sent_before_the_start_is_not_judged() -> None:
    """Silence and state at power-on lie before `from_cycle` and are proved by tests of their own."""
    decoded = decode(stream([(1, b"\xb0\x7b\x00"), *SOUND]))
    assert judge(PROMISED, CHANGES, decoded, from_cycle=50 * MS).sound
    assert faults(judge(PROMISED, CHANGES, decoded)) == [(Fault.EXTRA, "wire")]
