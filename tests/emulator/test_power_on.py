"""Power-on and resets: silence first, then the state of stops and shoes; what is held is reported and stays mute."""

from __future__ import annotations

import pytest

from tests.emulator.bounce import Burst
from tests.emulator.demos import demo
from tests.emulator.harness import CYCLES_PER_US, Seen, cycles, run
from tests.emulator.midi_stream import TimedMessage, decode
from tests.emulator.playing import Performance

pytestmark = pytest.mark.emulator

SILENCE = ["B07B00", "B17B00", "B27B00", "B37B00"]
"""All Notes Off (controller 123, MIDI 1.0 Table III) on the channels that carry notes: keys on 1 to 3, pistons on 4."""
WAIT_MS = 2000
HELD_KEY = "F07D010000F7"
"""Upper 36 is contact 0 of lane 0."""
HELD_PISTON = "F07D010138F7"
"""Piston 1 is contact 0 of lane 23: 8 x 23 = 184 = 1 x 128 + 56."""
TAB_CONTROLLERS = [3, 9, 14, 15, *range(20, 32), 85, 86, 87, 89, 102, 103, 104]
"""The 23 tabs that take part, in their order."""


def heard(seen: Seen, from_ms: float = 0) -> list[TimedMessage]:
    """Return the messages from a moment on."""
    decoded = decode(seen.midi)
    assert decoded.strays == ()
    return [message for message in decoded.messages if message.begins >= from_ms * 1000 * CYCLES_PER_US]


def words(messages: list[TimedMessage]) -> list[str]:
    """Return messages as hexadecimal digits."""
    return [message.data.hex().upper() for message in messages]


def tab_states(*drawn: int) -> list[str]:
    """Return one message per tab, 7F for those of the numbers in `drawn` (from 0)."""
    return [f"B3{number:02X}{'7F' if turn in drawn else '00'}" for turn, number in enumerate(TAB_CONTROLLERS)]


def test_a_console_at_rest_is_silenced_and_then_reports() -> None:
    """Silence begins within 5 ms, ends within 10; after the stated wait come all tabs, off, and the shoe."""
    console = demo("gutted_home")
    messages = heard(run(console.stage.scenario(console.image.hex, 3000)))
    assert words(messages) == [*SILENCE, *tab_states(), "B30B00"]
    assert messages[0].begins < cycles(ms=5)
    assert messages[3].ends < cycles(ms=10)
    assert cycles(ms=WAIT_MS) <= messages[4].begins < cycles(ms=WAIT_MS + 10)


def test_what_is_drawn_or_held_at_power_on() -> None:
    """A drawn tab is reported on; a held key and piston are reported as held and sound only when struck anew."""
    console = demo("gutted_home")
    stage, played = console.stage, Performance()
    for point in ("upper.36", "pistons.p1"):
        for turn, on in enumerate((False, True, False)):
            played.add(stage, point, Burst((((2600 + 60 * turn) * 1000.0, on),)))
    held = ("upper.36", "pistons.p1", "tabs.bourdon-16", "tabs.oboe-8")
    seen = run(stage.scenario(console.image.hex, 2900, played.events, held=held, shoes={"shoe.swell": 931}))
    messages = words(heard(seen))
    assert messages[: len(SILENCE)] == SILENCE
    assert sorted(messages[4:6]) == [HELD_KEY, HELD_PISTON]
    assert messages[6:30] == [*tab_states(0, 10), "B30B7F"]
    assert messages[30:] == ["902464", "930064", "902400", "930000"]


@pytest.mark.parametrize("cause", ["external", "watchdog"])
def test_a_reset_with_notes_on_silences_first(cause: str) -> None:
    """Notes held through a reset are silenced before anything else is sent, and the state is told anew."""
    console = demo("gutted_home")
    stage, played = console.stage, Performance()
    for point in ("upper.60", "lower.52", "tabs.celeste-8"):
        played.add(stage, point, Burst(((2_600_000.0, True),)))
    seen = run(stage.scenario(console.image.hex, 5300, played.events, resets=((cycles(ms=3000), cause),)))
    after = words(heard(seen, 3000))
    assert sorted(words(heard(seen, 2600))[: -len(after)]) == ["903C64", "913464", "B3197F"]
    assert after[:4] == SILENCE
    assert len([message for message in after if message.startswith("F07D01")]) == 2
    assert after[6:] == [*tab_states(9), "B30B00"]
    assert [restart[1] for restart in seen.restarts] == ["power-on", cause]
