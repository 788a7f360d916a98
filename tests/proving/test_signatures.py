"""What is recognised at a console, what is not, and that nobody is accused on little."""

from __future__ import annotations

import random

import pytest

from retrofit.proving.engine import Engine
from retrofit.proving.signature import Signature, SignatureKind
from retrofit.proving.signatures import signatures_of
from tests.proving.playing import MS, Message, heard, key, manuals, music, run, stutter


def found(engine: Engine, later_us: int = 0) -> list[Signature]:
    """All signatures so long after the last message."""
    return signatures_of(engine, engine.now_us + later_us)


def kinds(engine: Engine, enough: bool = True) -> set[tuple[SignatureKind, str]]:
    """Kind and subject of the signatures for which there were enough strokes, or not."""
    return {(one.kind, one.subject) for one in found(engine) if one.enough is enough}


@pytest.mark.parametrize("seed", range(8))
def test_a_healthy_console_is_not_accused(seed: int) -> None:
    """Runs and lively music with octaves, repeats and the odd stutter accuse nothing."""
    after = [(time_us + 70_000 * MS, message) for time_us, message in music(seed, 400)]
    assert kinds(heard(run(1, 1) + after)) == set()


def test_a_contact_that_chatters_in_every_stroke_is_named() -> None:
    """Five strokes with chatter are beyond what clumsy fingers do; the figures are told."""
    rng = random.Random(2)
    strokes = [
        m for n in range(5) for m in stutter(1, 60, n * 1000 * MS, [rng.randrange(5 * MS, 9 * MS) for _ in "abc"])
    ]
    (signature,) = found(heard(strokes))
    assert (signature.kind, signature.subject, signature.enough) == (SignatureKind.CHATTER, "m1.60", True)
    assert signature.found.startswith("5 of 5 strokes chattered, up to 3 further ons")


def test_one_stroke_with_chatter_is_not_enough() -> None:
    """It is told, with the number of strokes that would be enough: 0.05 to the fifth is below 0.001 / 186."""
    (signature,) = found(heard(stutter(1, 60, 0, [7 * MS] * 3)))
    assert not signature.enough
    assert "; 5 such strokes in a row are needed" in signature.limit


def test_a_point_known_as_dead_is_never_accused() -> None:
    """Whatever is heard of a key of which nothing is expected, it is not reported."""
    assert found(heard([m for n in range(9) for m in stutter(1, 40, n * 1000 * MS, [7 * MS] * 3)])) == []


@pytest.mark.parametrize("hz", [50, 100, 120])
def test_a_key_that_chatters_with_the_mains_is_named(hz: int) -> None:
    """A few strokes of one key with chatter at a mains frequency are hum of that key."""
    strokes = [m for n in range(3) for m in stutter(2, 60, n * 2000 * MS, [1_000_000 // hz] * 20)]
    hums = [one for one in found(heard(strokes)) if one.kind is SignatureKind.HUM]
    assert [(one.subject, one.enough) for one in hums] == [("m2.60", True)]
    assert f"57 of 57 times from on to on are whole periods of {hz} Hz" in hums[0].found


def test_keys_that_chatter_with_the_mains_together_are_one_group() -> None:
    """When several keys show it, the group is named, once."""
    strokes = [m for n in range(12) for m in stutter(2, 60 + n, n * 2000 * MS, [10 * MS] * 6)]
    hums = {pair for pair in kinds(heard(strokes)) if pair[0] is SignatureKind.HUM}
    assert hums == {(SignatureKind.HUM, "m2")}


def late(messages: list[Message], note: int, by_us: int) -> list[Message]:
    """The same messages, with the offs of one note late."""
    return [(t + by_us if m[1] == note and m[2] == 0 else t, m) for t, m in messages]


def test_a_key_that_goes_off_late_is_named_after_enough_strokes() -> None:
    """Four slow runs in which one key stays on 120 ms longer than the others name it; two runs only suspect it."""
    rng = random.Random(3)

    def runs(times: int) -> list[Message]:
        clean = [(t + rng.randrange(40 * MS) * (m[2] == 0), m) for t, m in run(1, times)]
        return late(clean, 70, 120 * MS)

    assert kinds(heard(runs(4))) == {(SignatureKind.SLOW_RELEASE, "m1.70")}
    assert kinds(heard(runs(2))) == set()
    assert kinds(heard(runs(2)), enough=False) == {(SignatureKind.SLOW_RELEASE, "m1.70")}


def test_a_long_bass_note_under_moving_keys_is_not_slow() -> None:
    """Only strokes that were played alone are compared: a held note with others above it says nothing."""
    bass = [m for n in range(10) for m in key(1, 36, n * 1000 * MS, 900 * MS)]
    above = [m for n in range(40) for m in key(1, 60 + n % 20, n * 250 * MS + 100 * MS, 120 * MS)]
    engine = heard(bass + above)
    assert kinds(engine) == set()
    assert not engine.contacts[0].on_times


def test_a_key_that_stays_on_for_minutes_is_named() -> None:
    """It is stuck, or something lies on it; a minute is not enough."""
    engine = heard([(0, b"\x90\x3c\x40")])
    assert found(engine, 60_000 * MS) == []
    assert [(one.kind, one.subject) for one in found(engine, 121_000 * MS)] == [(SignatureKind.STUCK, "m1.60")]


def flickers(times: int, keys: int) -> list[Message]:
    """Many keys of a manual, on one after the other as quickly as the wire takes them."""
    return [m for n in range(times) for k in range(keys) for m in key(3, 50 + k, n * 5000 * MS + k * 960, 200 * MS)]


def test_a_whole_group_that_flickers_is_named_after_three_times() -> None:
    """Half of a manual within an instant, three times, is no hand; twice is told as not enough."""
    assert (SignatureKind.FLICKER, "m3") in kinds(heard(flickers(3, 31)))
    assert (SignatureKind.FLICKER, "m3") in kinds(heard(flickers(1, 31)), enough=False)


def test_ten_keys_at_once_are_hands() -> None:
    """A chord of ten keys within an instant is no flicker."""
    assert not [one for one in found(heard(flickers(9, 10))) if one.kind is SignatureKind.FLICKER]


@pytest.mark.parametrize(
    ("semitones", "where"), [(0, "the same note"), (12, "the octave above"), (-12, "the octave below")]
)
def test_a_tap_behind_a_coupler_is_named(semitones: int, where: str) -> None:
    """When every key of one manual sounds another too, at its pitch or an octave away, a coupler is drawn."""
    own = [m for n in range(48, 75) for m in key(1, n, n * 1000 * MS, 200 * MS)]
    other = [m for n in range(48, 75) for m in key(2, n + semitones, n * 1000 * MS + 960, 200 * MS)]
    (signature,) = found(heard(own + other))
    assert (signature.kind, signature.subject, signature.enough) == (SignatureKind.DOUBLED, "m1", True)
    assert f"with 27 of 27 strokes of 27 keys {where} of m2 spoke too" in signature.found


def test_a_note_that_comes_on_a_second_channel_is_named_too() -> None:
    """The other channel need not be in the plan."""
    own = run(1, 1)
    other = [(t + 960, bytes((m[0] | 8, *m[1:]))) for t, m in own]
    assert kinds(heard(own + other)) == {(SignatureKind.DOUBLED, "m1")}
    assert "of channel 9 spoke too" in found(heard(own + other))[0].found


def test_a_coupler_of_few_strokes_is_told_as_not_enough() -> None:
    """Three keys that were doubled do not prove a coupler."""
    own = [m for n in (50, 52, 54) for m in key(1, n, n * 1000 * MS, 200 * MS)]
    other = [(t + 960, bytes((m[0] | 1, *m[1:]))) for t, m in own]
    assert kinds(heard(own + other)) == set()
    assert kinds(heard(own + other), enough=False) == {(SignatureKind.DOUBLED, "m1")}


def test_a_neighbour_that_shows_through_is_told_from_two_lines_that_touch() -> None:
    """A key that always brings its neighbour, which also speaks alone, shows it; two that never speak alone touch."""
    own = [m for n in range(20) for m in key(1, 60, n * 1000 * MS, 200 * MS)]
    other = [m for n in range(20) for m in key(1, 61, n * 1000 * MS + 960, 200 * MS)]
    alone = [m for n in range(30) for m in key(1, 61, 100_000 * MS + n * 1000 * MS, 200 * MS)]
    assert kinds(heard(own + other + alone)) == {(SignatureKind.BLEED, "m1.60")}
    assert kinds(heard(own + other)) == {(SignatureKind.TOGETHER, "m1.60"), (SignatureKind.TOGETHER, "m1.61")}


def test_an_engine_that_heard_nothing_says_nothing() -> None:
    """No message, no signature."""
    assert found(Engine(manuals())) == []


def test_a_leaf_that_rebounds_once_a_stroke_is_no_hum() -> None:
    """One further on in each stroke, always 10 ms after the first, is the leaf's own swing and not the mains."""
    strokes = [m for n in range(40) for m in stutter(1, 60, n * 1000 * MS, [10 * MS])]
    assert found(heard(strokes)) == []


def test_bounces_within_eight_milliseconds_are_no_chatter() -> None:
    """Three further ons within 6 ms are a bounce, in however many strokes."""
    strokes = [m for n in range(20) for m in stutter(1, 60, n * 1000 * MS, [2 * MS] * 3)]
    assert found(heard(strokes)) == []


def test_a_key_that_is_a_little_late_is_no_slow_one() -> None:
    """In four runs a key always stays on longer than any other, by less than the limit."""
    assert found(heard(late(run(1, 4), 70, 45 * MS))) == []
    assert kinds(heard(late(run(1, 4), 70, 55 * MS))) == {(SignatureKind.SLOW_RELEASE, "m1.70")}


def doubled(notes: range, times: int) -> Engine:
    """Each key of the first manual, doubled on the second, so many times."""
    own = [m for n in range(times) for k in notes for m in key(1, k, (n * len(notes) + k) * 1000 * MS, 200 * MS)]
    return heard(own + [(t + 960, bytes((m[0] | 1, *m[1:]))) for t, m in own])


def test_a_coupler_needs_both_strokes_and_different_keys() -> None:
    """Five keys once each are too few strokes, four keys ten times too few keys; five keys five times are enough."""
    assert [one.enough for one in found(doubled(range(60, 65), 1))] == [False]
    assert [one.enough for one in found(doubled(range(60, 64), 10))] == [False]
    assert [one.enough for one in found(doubled(range(60, 65), 5))] == [True]


def test_what_a_coupler_explains_is_not_told_key_by_key() -> None:
    """Even after so many strokes that each pair of keys would be accused, the coupler alone is told."""
    assert kinds(doubled(range(60, 65), 30)) == {(SignatureKind.DOUBLED, "m1")}
