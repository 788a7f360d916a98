"""Byte time and the time of bursts on the DIN wire."""

from __future__ import annotations

from io import BytesIO

import mido
import pytest
from hypothesis import given
from hypothesis import strategies as st

from retrofit.midi.messages import control_change, note_off, note_on, program_change
from retrofit.timing.wire import BYTE_US, BYTE_US_MAX, by_channel, bytes_on_wire, load, nominal_us, wire_us_max

CHORD = [note_on(1, 60 + i, 100) for i in range(10)]
STOPS = [control_change(1, i, 127) for i in range(48)]
CHANNELS = st.integers(1, 3)
SEVEN_BITS = st.integers(0, 127)
MESSAGES = st.lists(
    st.one_of(
        st.builds(note_on, CHANNELS, SEVEN_BITS, SEVEN_BITS),
        st.builds(note_off, CHANNELS, SEVEN_BITS, SEVEN_BITS),
        st.builds(control_change, CHANNELS, SEVEN_BITS, SEVEN_BITS),
        st.builds(program_change, CHANNELS, SEVEN_BITS),
    ),
    max_size=40,
)


def milliseconds(messages: list[bytes], running_status: bool) -> float:
    """Return the nominal time in milliseconds, to a hundredth."""
    return round(nominal_us(messages, running_status) / 1000, 2)


def test_byte_time() -> None:
    """IEC 63035:2017, clause 4.1: 31.25 kBd ± 1 %, ten bits: 320 µs a byte, from the slowest sender 323.2 µs."""
    assert BYTE_US == 320.0
    assert round(BYTE_US_MAX, 2) == 323.23


@pytest.mark.parametrize(
    ("messages", "plain", "running"),
    [
        (CHORD[:1], (3, 0.96), (3, 0.96)),
        (CHORD, (30, 9.6), (21, 6.72)),
        (STOPS, (144, 46.08), (97, 31.04)),
        (STOPS * 3, (432, 138.24), (289, 92.48)),
        (STOPS * 4, (576, 184.32), (385, 123.2)),
        ([control_change(channel, 123, 0) for channel in range(1, 17)], (48, 15.36), (48, 15.36)),
        ([m for pair in zip(CHORD, STOPS[:10], strict=True) for m in pair], (60, 19.2), (60, 19.2)),
    ],
    ids=["one note", "chord", "48 stops", "48 x 3", "48 x 4", "all notes off", "notes and shoe interleaved"],
)
def test_bursts(messages: list[bytes], plain: tuple[int, float], running: tuple[int, float]) -> None:
    """Bytes and milliseconds of bursts, with and without running status (arithmetic from 320 µs a byte)."""
    assert (bytes_on_wire(messages, False), milliseconds(messages, False)) == plain
    assert (bytes_on_wire(messages, True), milliseconds(messages, True)) == running


def test_tutti_grouped_by_channel() -> None:
    """Ten keys on eight channels: 76.8 ms plain, 53.76 ms with running status once grouped, no gain ungrouped."""
    tutti = [note_on(channel, 60 + key, 100) for key in range(10) for channel in range(1, 9)]
    assert milliseconds(tutti, False) == milliseconds(tutti, True) == 76.8
    assert milliseconds(list(by_channel(tutti)), True) == 53.76


def test_48_stops_with_ten_held_notes_grouped() -> None:
    """480 messages on 16 channels: 460.8 ms plain, 312.32 ms with running status grouped by channel."""
    burst = [note_on(1 + stop % 16, 36 + key + stop // 16 * 20, 100) for key in range(10) for stop in range(48)]
    assert milliseconds(burst, False) == 460.8
    assert milliseconds(list(by_channel(burst)), True) == 312.32


def test_grouping_keeps_the_order_within_a_channel() -> None:
    """A release and a new stroke of one key never change places."""
    messages = [note_on(2, 60, 100), note_off(1, 60), note_on(1, 60, 100), note_off(2, 60)]
    assert by_channel(messages) == (messages[1], messages[2], messages[0], messages[3])


@pytest.mark.parametrize(
    ("messages", "running", "within_ms", "percent"),
    [
        ([note_on(1, 36 + i // 2, 100 * (i % 2)) for i in range(122)], False, 500, 23),
        ([note_on(1, 36 + i // 2, 100 * (i % 2)) for i in range(122)], True, 500, 16),
        ([note_on(1, 36 + i % 61, 100) for i in range(366)], False, 500, 70),
        ([note_on(1, 36 + i % 61, 100) for i in range(366)], True, 500, 47),
        ([control_change(1, 11, i) for i in range(127)], False, 300, 41),
        ([control_change(1, 11, i) for i in range(30)], False, 300, 10),
        ([control_change(1, 11 + 32 * (i % 2), 0) for i in range(200)], False, 1000, 19),
    ],
    ids=["glissando", "glissando running", "three ranks", "three ranks running", "shoe", "shoe limited", "14 bits"],
)
def test_load(messages: list[bytes], running: bool, within_ms: int, percent: int) -> None:
    """Share of the wire's time, in whole percent (arithmetic from 320 µs a byte)."""
    assert round(100 * load(messages, running, within_ms * 1000)) == percent


@given(messages=MESSAGES)
def test_running_status_against_a_file_writer(messages: list[bytes]) -> None:
    """mido writes Standard MIDI Files with running status: its track, less one delta byte a message, is as long."""
    track = mido.MidiTrack(mido.Message.from_bytes(message) for message in messages)
    file = BytesIO()
    mido.MidiFile(tracks=[track]).save(file=file)
    headers_and_end = 14 + 8 + 4
    assert bytes_on_wire(messages, True) == len(file.getvalue()) - headers_and_end - len(messages)


def test_worst_case_is_one_percent_slow() -> None:
    """The worst case of a chord is its nominal time at 99 % of the bit rate."""
    assert wire_us_max(CHORD, True) == pytest.approx(6720 / 0.99)


@pytest.mark.parametrize("message", [b"", b"\xf0\x7d\xf7", b"\x3c\x40"])
def test_only_channel_messages_are_counted(message: bytes) -> None:
    """Anything without a channel status is refused, because running status means nothing there."""
    with pytest.raises(ValueError, match="channel messages"):
        bytes_on_wire([message], True)
