"""Firmware broken on purpose must fail the proof: otherwise the proof would prove nothing."""

from __future__ import annotations

from random import Random

import pytest

from tests.emulator.bounce import Burst, dropout
from tests.emulator.demos import Console, Spoil, console, prompt_demo, prompt_job
from tests.emulator.playing import Performance, perform, play_everything, playable, sampling_slack_us
from tests.emulator.proof import Fault, Verdict

pytestmark = pytest.mark.emulator

WRONG_MODE = Spoil(
    "board.c",
    "SPCR = _BV(SPE) | _BV(MSTR) | _BV(CPOL) | SPI_RATE;",
    "SPCR = _BV(SPE) | _BV(MSTR) | _BV(CPHA) | SPI_RATE;",
)
ONE_SAMPLE_LESS = Spoil(
    "counters.c",
    "uint8_t release = group->release_count;",
    "uint8_t release = (uint8_t)(group->release_count - 1);",
)
ONE_NOTE_OFF_DROPPED = Spoil(
    "events.c",
    "message_send(lane, bit_number(due), now & due);",
    "static uint8_t offs; if ((now & due) || ++offs != 60) message_send(lane, bit_number(due), now & due);",
)

NO_WAIT_FOR_ROWS = Spoil("port.h", "    if (us != 0) {", "    if (us > 250) {")


def spoilt(spoil: Spoil) -> Console:
    """Return the home console with one thing in its firmware broken."""
    return console(prompt_job("gutted_home"), [spoil])


def dropouts_of_one_sample_less(played_on: Console) -> Verdict:
    """Hold the keys of a counted group and let each drop out for just below N - 1 periods."""
    played = Performance(end_us=played_on.listening_us)
    rng = Random(3)
    for turn, (point, group) in enumerate(playable(played_on.plan).items()):
        if group.id == "upper" and group.debounce is not None:
            start_us = played_on.listening_us + turn * 4000 + rng.random() * 1000
            played.add(played_on.stage, point, Burst(((start_us, True),)))
            gap_us = (group.debounce.release - 1) * group.period_us - sampling_slack_us(played_on.plan, group)
            played.disturb(played_on.stage, point, dropout(start_us + 300_000, gap_us, True))
    played.end_us += 400_000
    return perform(played_on, played)[1]


def test_the_sound_firmware_passes_what_the_broken_ones_must_fail() -> None:
    """The same strokes and dropouts on the firmware as it is: no violation."""
    sound = prompt_demo("gutted_home")
    verdict = dropouts_of_one_sample_less(sound)
    assert verdict.sound, verdict.report()
    _, verdict = perform(sound, play_everything(sound, Random(2)))
    assert verdict.sound, verdict.report()


def test_the_wrong_spi_mode_fails() -> None:
    """In mode 1 the chain has shifted before the first sample: the register model counts it and the proof fails."""
    seen, verdict = perform(spoilt(WRONG_MODE), play_everything(prompt_demo("gutted_home"), Random(2)))
    assert seen.chain["modeErrors"] == seen.chain["transfers"] > 0
    assert not verdict.sound


def test_a_matrix_read_too_early_fails() -> None:
    """Without the wait after driving a row the columns still show the old level: the matrix is not heard."""
    _, verdict = perform(spoilt(NO_WAIT_FOR_ROWS), play_everything(prompt_demo("gutted_home"), Random(2)))
    silent = {violation.subject.split(".")[0] for violation in verdict.violations if violation.fault is Fault.MISSING}
    assert silent == {"lower"}


def test_one_sample_less_fails() -> None:
    """With N - 1 samples for release, gaps that must never be heard break notes."""
    verdict = dropouts_of_one_sample_less(spoilt(ONE_SAMPLE_LESS))
    broken = {violation.subject for violation in verdict.violations if violation.fault is Fault.EXTRA}
    assert len(broken) > 30


def test_a_single_dropped_note_off_fails() -> None:
    """One release of a whole campaign that is not sent is named, and nothing else is."""
    broken = spoilt(ONE_NOTE_OFF_DROPPED)
    _, verdict = perform(broken, play_everything(broken, Random(2)))
    assert [violation.fault for violation in verdict.violations] == [Fault.MISSING]
    assert "release" in verdict.violations[0].words


def test_a_text_that_is_no_longer_there_is_loud() -> None:
    """A replacement that does not fit the source any more breaks the test instead of testing sound firmware."""
    with pytest.raises(AssertionError, match="0 times, not once"):
        console(prompt_job("gutted_home"), [Spoil("pump.c", "no such text", "")])
