"""A firmware that hangs is started again by the watchdog, silences what it left sounding, and counts it."""

from __future__ import annotations

import pytest

from tests.emulator.build import Image
from tests.emulator.demos import Spoil
from tests.emulator.harness import Chain, Event, Port, Scenario, Seen, cycles, run
from tests.emulator.table_image import image_of
from tests.firmware.table_text import chain_of_keys

pytestmark = pytest.mark.emulator

TABLE = chain_of_keys(2, 8, TICK_US=1000, SPI_DIVIDER=8, POWER_ON_TICKS=10)
TICK = "    console_tick();\n"
HANG_MS, FREE_MS = 200, 380
TIME_OUT_MS = 256
"""32,768 periods of 128 kHz (ATmega2560 data sheet, watchdog timer prescale select)."""
PORT_A_BIT_0 = "!(PINA & 1)"
"""The spoilt firmwares hang while this pin is low: from `HANG_MS` to `FREE_MS`."""
TOLD = Spoil(
    "board.c",
    "    restart_note();\n",
    "    restart_note();\n    GPIOR0 = 0xA0 | restart_cause;\n    GPIOR0 = 0xC0 | (uint8_t)restart_watchdog_count;\n",
)
"""Cause and count written where the emulator keeps marks."""
WATCHDOG_FLAG, POWER_ON_FLAG = 8, 1
"""Bits of MCUSR (ATmega2560 data sheet, MCU status register)."""


def hanging(how: str) -> Image:
    """Return an image that hangs as `how` says, and tells cause and count at each start."""
    return image_of(TABLE, spoils=[Spoil("board.c", TICK, f"    if ({PORT_A_BIT_0}) {{\n{how}    }}\n{TICK}"), TOLD])


def play(image: Image, run_ms: float, *, resets: tuple[tuple[int, str], ...] = ()) -> Seen:
    """Press a key at 100 ms, hang for a while, and press another at 700 ms."""
    events: tuple[Event, ...] = (
        (cycles(ms=100), "chain", 0, 0, 0),
        (cycles(ms=HANG_MS), "port", "A", 0, 0),
        (cycles(ms=FREE_MS), "port", "A", 0, 1),
        (cycles(ms=700), "chain", 0, 1, 0),
    )
    return run(
        Scenario(
            image.hex,
            cycles(ms=run_ms),
            Chain(2, initial=(0xFF, 0xFF)),
            ports={"A": Port(contacts=1)},
            events=events,
            resets=resets,
            keep_marks=True,
        )
    )


def told(seen: Seen) -> list[tuple[int, int]]:
    """Return cause and count as told at each start."""
    causes = [value & 0x0F for _, value in seen.marks if value & 0xF0 == 0xA0]
    counts = [value & 0x0F for _, value in seen.marks if value & 0xF0 == 0xC0]
    return list(zip(causes, counts, strict=True))


SOUNDING, SILENCED, AFTER = bytes((0x90, 36, 100)), bytes((0xB0, 123, 0)), bytes((0x90, 37, 100))
HELD = bytes((0xF0, 0x7D, 1, 0, 0, 0xF7))


def test_a_loop_without_end_is_ended_by_the_interrupt() -> None:
    """No reset of the chip: the program begins anew, silences the channel, reports the held key, and goes on."""
    seen = play(hanging("        for (;;) {\n        }\n"), 800)
    assert seen.sent == SILENCED + SOUNDING + SILENCED + HELD + AFTER
    assert [cause for _, cause in seen.restarts] == ["power-on"]
    assert told(seen) == [(POWER_ON_FLAG, 0), (WATCHDOG_FLAG, 1)]
    silenced = [cycle for cycle, byte in seen.midi if byte == 123][1]
    assert cycles(ms=HANG_MS + TIME_OUT_MS - 2) < silenced < cycles(ms=HANG_MS + TIME_OUT_MS + 5)
    assert seen.problems == {}


def test_a_loop_with_interrupts_off_is_ended_by_a_reset() -> None:
    """The second time-out resets the chip: as long again, and then the same silence, report and count."""
    seen = play(hanging("        cli();\n        for (;;) {\n        }\n"), 900)
    assert seen.sent[: len(SILENCED + SOUNDING + SILENCED + HELD)] == SILENCED + SOUNDING + SILENCED + HELD
    assert [cause for _, cause in seen.restarts] == ["power-on", "watchdog"]
    assert seen.restarts[1][0] == pytest.approx(cycles(ms=HANG_MS + 2 * TIME_OUT_MS), abs=cycles(ms=2))
    assert told(seen) == [(POWER_ON_FLAG, 0), (WATCHDOG_FLAG, 1)]


def test_other_restarts_do_not_count_as_the_watchdogs() -> None:
    """An external reset and a brown-out keep the count and are told by their own flags; power-on begins at 0."""
    resets = ((cycles(ms=600), "external"), (cycles(ms=650), "brown-out"), (cycles(ms=690), "power-on"))
    seen = play(hanging("        for (;;) {\n        }\n"), 720, resets=resets)
    assert told(seen) == [(POWER_ON_FLAG, 0), (WATCHDOG_FLAG, 1), (2, 1), (4, 1), (POWER_ON_FLAG, 0)]


def test_memory_without_its_check_word_counts_from_0() -> None:
    """What stands in memory by chance, as when a boot loader has used it, is not taken for a count."""
    chance = Spoil("restart.c", "    bitten = 0;\n", "    bitten = 0;\n    restart_watchdog_count = 0x1234;\n")
    image = image_of(TABLE, spoils=[chance, TOLD])
    seen = play(image, 150, resets=((cycles(ms=90), "external"),))
    assert told(seen) == [(POWER_ON_FLAG, 0), (2, 0)]


def test_a_firmware_that_never_feeds_the_watchdog_is_started_again_and_again() -> None:
    """Without the kick behind each tick's work even a sound program is restarted: the watchdog really runs."""
    seen = play(image_of(TABLE, spoils=[Spoil("board.c", "    restart_kick();\n", ""), TOLD]), 700)
    assert told(seen)[:3] == [(POWER_ON_FLAG, 0), (WATCHDOG_FLAG, 1), (WATCHDOG_FLAG, 2)]
