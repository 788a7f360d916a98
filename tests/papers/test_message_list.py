"""The message list of the bench console."""

from __future__ import annotations

import mido
import pytest

from retrofit.papers.csv_text import csv_records
from retrofit.papers.message_list import message_list_csv, message_words
from retrofit.survey.points import PointKind
from tests.writer.plans import bench_plan

PLAN = bench_plan()
RECORDS = csv_records(message_list_csv(PLAN))
BY_POINT = {record["point"]: record for record in RECORDS}


def test_every_point_but_stages_has_a_row() -> None:
    """Rows are in the order of the job; the stages of a roller are its own affair."""
    expected = [p.point.id for p in PLAN.points if p.point.kind is not PointKind.STAGE]
    assert [record["point"] for record in RECORDS] == expected


def test_bytes_and_words_of_every_message_agree_with_mido() -> None:
    """Parsed by mido (an independent MIDI library), the bytes have the channel and the numbers that the words say."""
    checked = 0
    for record in RECORDS:
        for state in ("on", "off"):
            if not record[f"bytes when {state}"] or ".." in record[f"bytes when {state}"]:
                continue
            message = mido.Message.from_hex(record[f"bytes when {state}"])
            words = record[f"sends when {state}"]
            assert int(record["channel"]) == message.channel + 1
            assert _words(message) == words
            checked += 1
    assert checked == 2 * 21 + 2


def _words(message: mido.Message) -> str:
    names = {60 + i: n for i, n in enumerate(("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B"))}
    match message.type:
        case "note_on" | "note_off":
            kind = message.type.replace("_", " ")
            name = f"{names[60 + message.note % 12]}{message.note // 12 - 1}"
            return f"{kind} {name} ({message.note}), velocity {message.velocity}"
        case "control_change":
            return f"controller {message.control} (free), value {message.value}"
        case _:
            return f"program change, byte {message.program} (counted from 1: {message.program + 1})"


@pytest.mark.parametrize(
    ("point", "on", "off", "channel"),
    [
        ("great.36", "90 24 64", "80 24 40", "1"),
        ("pedal.44", "92 2C 64", "82 2C 40", "3"),
        ("tabs.vox", "B0 14 7F", "B0 14 00", "1"),
        ("pistons.p2", "C4 01", "", "5"),
        ("shoes.swell", "B0 0B 00..7F", "", "1"),
        ("tabs.gap", "", "", ""),
    ],
)
def test_bytes_are_those_of_the_plan(point: str, on: str, off: str, channel: str) -> None:
    """Hexadecimal bytes as they leave the board, written out by hand here (MIDI 1.0, Table II)."""
    record = BY_POINT[point]
    assert (record["bytes when on"], record["bytes when off"], record["channel"]) == (on, off, channel)


def test_what_sends_nothing_says_why() -> None:
    """A twin names the point that sends for it, a point left out its condition."""
    assert BY_POINT["studs.s1"]["sends when on"] == "nothing"
    assert BY_POINT["studs.s1"]["remarks"].startswith("same line as pistons.p1")
    assert BY_POINT["tabs.gap"]["remarks"] == "left-out"


@pytest.mark.parametrize(
    ("message", "words"),
    [
        (b"\x90\x3c\x00", "note off C4 (60), as note on with velocity 0"),
        (b"\xb1\x0b\x40", "controller 11 (expression), value 64"),
        (b"\xb1\x66\x7f", "controller 102 (free), value 127"),
        (b"\xe0\x00\x40", "another message"),
        (b"", "nothing"),
    ],
)
def test_messages_are_told_in_words(message: bytes, words: str) -> None:
    """A note-on of velocity 0 is a note-off (MIDI 1.0, Note Off)."""
    assert message_words(message) == words
