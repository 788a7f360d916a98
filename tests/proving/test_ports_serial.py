"""MIDI on a serial line: pseudo-terminals stand for the device."""

from __future__ import annotations

import os
import pty
import time
import tty
from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path

import pytest

from retrofit.proving.ports.errors import PortError
from retrofit.proving.ports.serial_in import BYTE_US, SerialInput, TimedParser
from retrofit.proving.sources import Losses

PATIENCE_S = 20.0


class Device:
    """A serial device under a name that stays, though what is behind it may go and come."""

    def __init__(self, link: Path) -> None:
        self.link = link
        self._ours = -1

    def plug_in(self) -> None:
        """Be there."""
        self._ours, theirs = pty.openpty()
        tty.setraw(theirs)
        self.link.symlink_to(os.ttyname(theirs))
        os.close(theirs)

    def unplug(self) -> None:
        """Be gone."""
        self.link.unlink()
        os.close(self._ours)
        self._ours = -1

    def send(self, content: bytes) -> None:
        """Put bytes on the line, as fast as they are taken."""
        while content:
            content = content[os.write(self._ours, content[:512]) :]

    def close(self) -> None:
        """Give everything back."""
        with suppress(OSError):
            os.close(self._ours)


@pytest.fixture
def device(tmp_path: Path) -> Iterator[Device]:
    """Give a device that is plugged in."""
    made = Device(tmp_path / "console")
    made.plug_in()
    yield made
    made.close()


def heard(source: SerialInput, count: int) -> list[bytes]:
    """Return what comes, until there are so many messages or patience is at its end."""
    found: list[bytes] = []

    def enough() -> bool:
        found.extend(message for _, message in source.poll())
        return len(found) >= count

    until(enough)
    return found


def until(done: Callable[[], bool]) -> bool:
    """Wait for something to become true, as long as a very busy machine may need."""
    deadline = time.monotonic() + PATIENCE_S
    while not done() and time.monotonic() < deadline:
        time.sleep(0.01)
    return done()


def test_running_status_and_real_time_are_heard_from_the_line(device: Device) -> None:
    """Bytes become whole messages by the rules of MIDI 1.0; what is none is counted."""
    with SerialInput(str(device.link)) as source:
        device.send(bytes.fromhex("40 90 3C 40 3D F8 41 F0 01 90 3E 00"))
        assert heard(source, 4) == [bytes.fromhex(words) for words in ("90 3C 40", "F8", "90 3D 41", "90 3E 00")]
        assert source.losses == Losses(stray_bytes=1, cut_messages=1)
        assert (source.away, source.ended, source.words) == (False, False, str(device.link))


def test_a_flood_is_heard_whole(device: Device) -> None:
    """Many times what a MIDI wire carries arrives complete and in order."""
    notes = [bytes((0x90, number % 128, 1 + number // 128 % 127)) for number in range(20_000)]
    with SerialInput(str(device.link)) as source:
        device.send(b"".join(notes))
        assert heard(source, len(notes)) == notes
        assert source.losses == Losses()


def test_what_nobody_takes_is_dropped_beyond_a_bound_and_counted(device: Device) -> None:
    """Memory does not grow without end while nobody asks."""
    with SerialInput(str(device.link), held_max=10) as source:
        device.send(bytes((0x90, 60, 1)) * 50)
        assert until(lambda: source.losses.dropped == 40)
        assert len(source.poll()) == 10


def test_a_device_that_goes_is_away_until_it_comes_back_by_name(device: Device) -> None:
    """The message that was under way is counted as cut; running status does not outlive the gap."""
    with SerialInput(str(device.link)) as source:
        device.send(bytes.fromhex("90 3C 40 3D"))
        assert heard(source, 1) == [bytes.fromhex("90 3C 40")]
        device.unplug()
        assert until(lambda: source.away)
        assert source.losses.cut_messages == 1
        device.plug_in()
        assert until(lambda: not source.away)
        device.send(bytes.fromhex("40 90 3E 40"))
        assert heard(source, 1) == [bytes.fromhex("90 3E 40")]
        assert source.losses == Losses(stray_bytes=1, cut_messages=1)


def test_a_port_that_is_not_there_or_no_port_is_refused_in_words(tmp_path: Path) -> None:
    """The message names the device, the reason and where ports are listed."""
    with (
        pytest.raises(PortError, match=r"nowhere cannot be opened .*; retrofit ports lists"),
        SerialInput(str(tmp_path / "nowhere")),
    ):
        pass
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(PortError, match="file cannot be opened"), SerialInput(str(tmp_path / "file")):
        pass


def test_bytes_read_together_have_come_one_after_the_other() -> None:
    """Three bytes of ten bits at 31,250 baud lie 960 µs before the next three: MIDI 1.0, 320 µs a byte."""
    parser = TimedParser(lambda: 10_000)
    assert BYTE_US == 10 * 1_000_000 // 31_250
    assert parser.take(bytes.fromhex("90 3C 40 3D 40 F8")) == [
        (10_000 - 3 * 320, bytes.fromhex("90 3C 40")),
        (10_000 - 320, bytes.fromhex("90 3D 40")),
        (10_000, b"\xf8"),
    ]


def test_times_never_go_back() -> None:
    """A long piece right after another one does not reach back behind it."""
    times = iter((10_000, 10_100))
    parser = TimedParser(lambda: next(times))
    first = parser.take(bytes.fromhex("90 3C 40"))
    second = parser.take(bytes.fromhex("3C 00 3D 40"))
    assert [at_us for at_us, _ in (*first, *second)] == [10_000, 10_000, 10_100]
