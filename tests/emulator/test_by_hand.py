"""Twenty points and more of each demo with the bytes written by hand from the job files, not taken from any plan.

Channels stand in the job files; a status byte's low digit is the channel less one (MIDI 1.0, Table I).  Keys play their
own note with velocity 100 (64 in hexadecimal) and end with velocity 0, as `[wanted]` says or leaves as it is.
"""

from __future__ import annotations

from random import Random

import pytest

from tests.emulator.bounce import LONGEST_KNOWN_US, random_burst
from tests.emulator.demos import demo
from tests.emulator.harness import CYCLES_PER_US, run
from tests.emulator.midi_stream import decode
from tests.emulator.playing import Performance, longest_bounce_us, playable

pytestmark = pytest.mark.emulator

GUTTED_HOME = {
    "upper.36": ("90 24 64", "90 24 00"),  # Upper, channel 1
    "upper.60": ("90 3C 64", "90 3C 00"),
    "upper.61": ("90 3D 64", "90 3D 00"),
    "upper.96": ("90 60 64", "90 60 00"),
    "lower.36": ("91 24 64", "91 24 00"),  # Lower, channel 2, on the diode board
    "lower.52": ("91 34 64", "91 34 00"),
    "lower.60": ("91 3C 64", "91 3C 00"),
    "lower.96": ("91 60 64", "91 60 00"),
    "pedal.36": ("92 24 64", "92 24 00"),  # Pedal, channel 3, 25 notes: 36 to 60
    "pedal.48": ("92 30 64", "92 30 00"),
    "pedal.60": ("92 3C 64", "92 3C 00"),
    # Tabs, channel 4: controllers without a meaning of their own (MIDI 1.0, Table III: 3, 9, 14, 15, 20-31, 85 ...)
    "tabs.bourdon-16": ("B3 03 7F", "B3 03 00"),
    "tabs.open-flute-16": ("B3 09 7F", "B3 09 00"),
    "tabs.open-flute-8": ("B3 0E 7F", "B3 0E 00"),
    "tabs.open-flute-4": ("B3 0F 7F", "B3 0F 00"),
    "tabs.quint-2-2-3": ("B3 14 7F", "B3 14 00"),  # 20
    "tabs.celeste-8": ("B3 19 7F", "B3 19 00"),  # 25, the tenth tab
    "tabs.cello-8": ("B3 1F 7F", "B3 1F 00"),  # 31, the sixteenth
    "tabs.clarinet-8": ("B3 55 7F", "B3 55 00"),  # 85, the seventeenth
    "pistons.p1": ("93 00 64", "93 00 00"),  # Pistons, channel 4, notes from 0
    "pistons.p6": ("93 05 64", "93 05 00"),
    "pistons.cancel": ("93 07 64", "93 07 00"),
}

THEATRE = {
    "accompaniment.36": ("90 24 64", "90 24 00"),  # Accompaniment, channel 1
    "accompaniment.60": ("90 3C 64", "90 3C 00"),
    "accompaniment.60.second": ("94 3C 64", "94 3C 00"),  # its second touch, channel 5
    "accompaniment.96.second": ("94 60 64", "94 60 00"),
    "great.36": ("91 24 64", "91 24 00"),  # Great, channel 2
    "great.65": ("91 41 64", "91 41 00"),
    "great.96": ("91 60 64", "91 60 00"),
    "solo.36": ("92 24 64", "92 24 00"),  # Solo, channel 3
    "solo.96": ("92 60 64", "92 60 00"),
    "pedal.36": ("93 24 64", "93 24 00"),  # Pedal, channel 4, 32 notes: 36 to 67
    "pedal.67": ("93 43 64", "93 43 00"),
    "pedal-tabs.resultant-32": ("95 00 64", "95 00 00"),  # Tabs, channel 6, notes from 0
    "pedal-tabs.cymbal": ("95 0F 64", "95 0F 00"),  # the sixteenth
    "accompaniment-tabs.tambourine": ("95 27 64", "95 27 00"),  # from 16, the twenty-fourth: 39
    "great-tabs.tierce-1-3-5": ("95 3F 64", "95 3F 00"),  # from 40, the twenty-fourth: 63
    "great-tabs.great-octave": ("95 41 64", "95 41 00"),  # the twenty-sixth: 65
    "solo-tabs.post-horn-8": ("95 43 64", "95 43 00"),  # from 66, the second: 67
    "solo-tabs.solo-sub-octave": ("95 51 64", "95 51 00"),  # the sixteenth: 81
    "other-tabs.main-tremulant": ("95 52 64", "95 52 00"),  # from 82
    "other-tabs.sforzando": ("95 5E 64", "95 5E 00"),  # the thirteenth: 94
    "pistons.accompaniment-1": ("96 00 64", "96 00 00"),  # Pistons, channel 7, notes from 0
    "pistons.general-1": ("96 18 64", "96 18 00"),  # the twenty-fifth: 24; toe stud 1 is the same line
    "pistons.cancel": ("96 1D 64", "96 1D 00"),  # the thirtieth: 29
    "studs.s3": ("96 22 64", "96 22 00"),  # Toe studs, channel 7, from 32, the third: 34
    "studs.sforzando": ("96 29 64", "96 29 00"),  # the tenth: 41
}

BETWEEN_US = 60_000.0


@pytest.mark.parametrize(("name", "by_hand"), [("gutted_home", GUTTED_HOME), ("theatre", THEATRE)])
def test_the_bytes_written_by_hand_are_heard(name: str, by_hand: dict[str, tuple[str, str]]) -> None:
    """Each point pressed and released with bounce, one after another: exactly these messages, in this order."""
    console, rng = demo(name), Random(23)
    stage, groups = console.stage, playable(console.plan)
    played = Performance(end_us=console.listening_us)
    for point in by_hand:
        longest = min(longest_bounce_us(console.plan, groups[point]), LONGEST_KNOWN_US)
        for on in (True, False):
            played.add(stage, point, random_burst(rng, played.end_us + BETWEEN_US + rng.random() * 2000, on, longest))
    seen = run(stage.scenario(console.image.hex, played.end_us / 1000 + 100, played.events))
    messages = decode(seen.midi).messages
    heard = [m.data.hex(" ").upper() for m in messages if m.begins > console.listening_us * CYCLES_PER_US]
    assert heard == [data for pair in by_hand.values() for data in pair]


def test_a_stud_on_a_pistons_line_is_heard_once() -> None:
    """Toe stud 1 has no contact of its own: pressing General 1, which shares its line, brings one message pair."""
    assert "studs.s1" not in demo("theatre").stage.contacts
    assert len(THEATRE) >= 20
    assert len(GUTTED_HOME) >= 20
