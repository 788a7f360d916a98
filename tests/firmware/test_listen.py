"""Listening to the organ's own scanner: what a strobe shows is kept, and what cannot be trusted is left alone."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.firmware.build import CORE
from tests.firmware.console import Console, Strobe, build_console
from tests.firmware.table_text import COUNTED, LISTEN, NOTES, ConsoleTable, note

STROBE_PORT, FIRST_RETURNS, MORE_RETURNS = 9, 2, 10
STROBES, SILENT_TICKS, SETTLE_US = 5, 40, 5


def listening_table(*, active_low: bool, reversed_bits: int = 0) -> ConsoleTable:
    """Five strobes with sixteen returns: two groups of one port each; counted, 2 samples each way."""
    return ConsoleTable(
        runs=[(LISTEN, 0, 0, STROBES, 0, 0), (LISTEN, 1, STROBES, STROBES, 1, 0)],
        groups=[(COUNTED, 2, 2, 1, 0, 0, NOTES, 0, 0, 0)] * 2,
        lanes=[(0xFF, reversed_bits)] * (2 * STROBES),
        messages=[note(0, contact) for contact in range(2 * 8 * STROBES)],
        listened=[(FIRST_RETURNS, 0xFF), (MORE_RETURNS, 0xFF)],
        sizes={
            "COUNTER_PLANES": 2,
            "LISTEN_STROBES": STROBES,
            "LISTEN_ACTIVE_LOW": int(active_low),
            "LISTEN_SILENT_TICKS": SILENT_TICKS,
        },
    )


class Organ:
    """The organ's scanner beside a console that listens; `keys` holds the byte of returns of each strobe."""

    def __init__(self, console: Console, *, active_low: bool, rest_returns: int = 0) -> None:
        self.console, self._low = console, active_low
        self.keys = [rest_returns] * STROBES
        self._rest_returns = rest_returns
        console.ports[MORE_RETURNS] = rest_returns

    def strobe(self, *numbers: int, width_us: int = 100, settle_us: int = SETTLE_US) -> None:
        """Make strobes active together for a time; the returns are those of the first."""
        flip = 0xFF if self._low else 0
        self.console.strobe(
            Strobe(
                port=STROBE_PORT,
                levels=sum(1 << number for number in numbers) ^ flip,
                rest=flip,
                width_us=width_us,
                return_port=FIRST_RETURNS,
                before=self._rest_returns,
                returns=self.keys[numbers[0]] if numbers else self._rest_returns,
                settle_us=settle_us,
            )
        )

    def rounds(self, count: int = 4, **strobe: int) -> None:
        """Scan so many times, one tick of the console behind each strobe."""
        for _ in range(count):
            for number in range(STROBES):
                self.strobe(number, **strobe)
                self.console.run()


def organ_of(folder: Path, *, active_low: bool = False, reversed_bits: int = 0, patched: Path | None = None) -> Organ:
    """Build a console that listens, past its start, beside an organ that is on."""
    table = listening_table(active_low=active_low, reversed_bits=reversed_bits)
    organ = Organ(build_console(folder, table, patched=patched), active_low=active_low, rest_returns=reversed_bits)
    organ.rounds()
    organ.console.take()
    return organ


@pytest.mark.parametrize("active_low", [False, True])
@pytest.mark.parametrize("reversed_bits", [0x00, 0xFF])
def test_every_key_of_every_strobe_is_its_own(tmp_path: Path, active_low: bool, reversed_bits: int) -> None:
    """Each crossing of strobe and return brings its one note, whatever the levels of strobes and keys are."""
    organ = organ_of(tmp_path, active_low=active_low, reversed_bits=reversed_bits)
    for strobe in range(STROBES):
        for line in range(8):
            organ.keys[strobe] ^= 1 << line
            organ.rounds()
            organ.keys[strobe] ^= 1 << line
            organ.rounds()
            number = 8 * strobe + line
            assert organ.console.messages() == [(0x90, number, 100), (0x80, number, 64)]
    assert (organ.console.ignored, organ.console.silences) == (0, 0)


def test_ports_of_returns_are_kept_apart(tmp_path: Path) -> None:
    """The second port of returns plays the second group, strobe by strobe."""
    organ = organ_of(tmp_path)
    organ.console.ports[MORE_RETURNS] = 0x04
    for _ in range(4):
        organ.strobe(3)
        organ.console.ports[MORE_RETURNS] = 0
        for other in (0, 1, 2, 4):
            organ.strobe(other)
        organ.console.run()
        organ.console.ports[MORE_RETURNS] = 0x04
    assert organ.console.messages() == [(0x90, 8 * (STROBES + 3) + 2, 100)]


def test_two_strobes_at_once_change_nothing_and_are_counted(tmp_path: Path) -> None:
    """While two strobes are active nobody knows whose key is seen."""
    organ = organ_of(tmp_path)
    organ.keys[1] = 0xFF
    organ.strobe(1, 2)
    organ.console.run(3)
    assert organ.console.messages() == []
    assert organ.console.ignored == 1


def test_a_strobe_that_is_over_too_soon_changes_nothing_and_is_counted(tmp_path: Path) -> None:
    """What was read behind the end of a strobe belongs to no strobe; one that lasts a microsecond longer is read."""
    organ = organ_of(tmp_path)
    organ.keys[1] = 0xFF
    organ.strobe(1, width_us=SETTLE_US)
    organ.console.run(3)
    assert (organ.console.messages(), organ.console.ignored) == ([], 1)
    organ.strobe(1, width_us=SETTLE_US + 1)
    organ.console.run(30)
    assert len(organ.console.messages()) == 8


def test_the_pause_between_strobes_is_no_strobe(tmp_path: Path) -> None:
    """The edge at which a strobe ends raises the interrupt too, and changes nothing."""
    organ = organ_of(tmp_path)
    organ.keys[0] = 0xFF
    organ.strobe()
    organ.console.run(3)
    assert organ.console.messages() == []
    assert organ.console.ignored == 0


def test_returns_that_settle_too_late_are_not_heard(tmp_path: Path) -> None:
    """The returns are read after the stated wait: what needs a microsecond more shows the level before."""
    organ = organ_of(tmp_path)
    organ.keys[1] = 0xFF
    organ.rounds(settle_us=SETTLE_US + 1)
    assert organ.console.messages() == []


def test_silent_strobes_have_their_keys_off(tmp_path: Path) -> None:
    """The organ is switched off with keys held: within two windows all are off, and each strobe is counted once."""
    organ = organ_of(tmp_path)
    organ.keys[2] = 0x81
    organ.rounds()
    organ.console.take()
    organ.console.run(2 * SILENT_TICKS + 3)
    assert sorted(organ.console.messages()) == [(0x80, 16, 64), (0x80, 23, 64)]
    organ.console.run(5 * SILENT_TICKS)
    assert organ.console.silences == STROBES
    organ.rounds()
    assert sorted(organ.console.messages()) == [(0x90, 16, 100), (0x90, 23, 100)]


def test_one_silent_strobe_is_off_alone(tmp_path: Path) -> None:
    """A broken strobe wire leaves no key hanging, and the other strobes are heard on."""
    organ = organ_of(tmp_path)
    organ.keys[0] = organ.keys[2] = 0x01
    organ.rounds()
    organ.console.take()
    for _ in range(3 * SILENT_TICKS):
        for number in (0, 1, 3, 4):
            organ.strobe(number)
        organ.console.run()
    assert organ.console.messages() == [(0x80, 16, 64)]
    assert organ.console.silences == 1


def test_an_organ_that_is_off_at_the_start_is_no_silence(tmp_path: Path) -> None:
    """Strobes that were never heard are not counted as having fallen silent."""
    console = build_console(tmp_path, listening_table(active_low=False))
    console.run(5 * SILENT_TICKS)
    assert (console.silences, console.take()) == (0, b"")


def test_many_ignored_strobes_are_counted_to_the_end(tmp_path: Path) -> None:
    """The counter stays at its greatest value."""
    organ = organ_of(tmp_path)
    for _ in range(330):
        for _ in range(200):
            organ.strobe(0, 1)
        organ.console.run()
    assert organ.console.ignored == 65535


@pytest.mark.parametrize(
    ("right", "wrong"),
    [
        ("        port_wait_us(LISTEN_SETTLE_US);\n", ""),
        (
            "keep(strobe_number(active), levels);",
            "keep((uint8_t)((strobe_number(active) + 1) % LISTEN_STROBES), levels);",
        ),
    ],
    ids=["reads too early", "takes it for the next strobe"],
)
def test_broken_firmware_is_noticed(tmp_path: Path, right: str, wrong: str) -> None:
    """Firmware that does not wait, or that counts the strobes wrongly, does not play the key that is held."""
    text = (CORE / "listen.c").read_text(encoding="utf-8")
    assert text.count(right) == 1
    spoilt = tmp_path / "spoilt"
    spoilt.mkdir()
    (spoilt / "listen.c").write_text(text.replace(right, wrong), encoding="utf-8")
    organ = organ_of(tmp_path, patched=spoilt)
    organ.keys[1] = 0x10
    organ.rounds()
    assert organ.console.messages() != [(0x90, 12, 100)]
