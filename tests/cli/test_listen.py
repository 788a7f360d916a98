"""`retrofit listen`: what is heard, by the points' own names, from recordings and real lines."""

from __future__ import annotations

import json
import os
import pty
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import mido
import pytest

from retrofit.proving.ports.system import BackEnd, PortsSeen
from retrofit.proving.records.rows import Kind, RunHead
from retrofit.proving.records.store import RecordFile
from retrofit.proving.runs.entries import Entry, EntryKind
from tests.cli.conftest import ROOT, Command, written
from tests.proving.plans import JOB
from tests.proving.test_ports_serial import Device

LISTEN = (sys.executable, "-m", "retrofit.cli.main", "listen")
PATIENCE_S = 30


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """Return the job file of the small console, one of its stops with a hostile name."""
    return written(tmp_path / "small.toml", JOB.replace('name = "Flute"', 'name = "Fl\\u001b[2Jute"'))


def recording(path: Path, *messages: str) -> Path:
    """Write a Standard MIDI File of these messages, half a second apart; return its path."""
    track = mido.MidiTrack(mido.Message.from_hex(message, time=480) for message in messages)
    mido.MidiFile(tracks=[track]).save(path)
    return path


def test_what_is_heard_is_told_by_the_names_of_the_points(retrofit: Command, job: Path, tmp_path: Path) -> None:
    """Keys, stops, pistons and shoes have their own names; what the plan does not know is told in words of MIDI."""
    played = "91 24 40, 81 24 40, B0 14 7F, C0 05, B0 0B 63, 9F 3C 40, 91 26 40, F0 7D 05 F7"
    song = recording(tmp_path / "a.mid", *played.split(", "))
    ended = retrofit("listen", job, "--replay", song, "--fast")
    assert ended.code == 0, ended.err
    assert [line.split(" s  ", 1)[1] for line in ended.out.splitlines()] == [
        "great C2 (36): on",
        "great C2 (36): off",
        "Fl\\x1b[2Jute 8': on",
        "I: on",
        "Swell: 99",
        "not in the plan: channel 16, note on C4 (60), velocity 64",
        "great D2 (38) (known as dead): on",
        "system exclusive, 4 bytes: F0 7D 05 F7",
    ]
    assert ended.out.startswith("    0.500 s  great")
    assert "5 messages of 4 of the" in ended.err
    assert "1 of shoes, 1 not in the plan" in ended.err
    assert "still on: Fl\\x1b[2Jute 8', great D2 (38)" in ended.err or "still on: great D2 (38), Fl" in ended.err


def test_as_json_every_line_is_an_object_and_the_counts_are_the_last(
    retrofit: Command, job: Path, tmp_path: Path
) -> None:
    """Another program gets point ids, times, bytes and counts, in plain ASCII."""
    song = recording(tmp_path / "a.mid", "91 24 40", "9F 3C 40", "F0 7D 05 F7")
    ended = retrofit("listen", job, "--replay", song, "--fast", "--json")
    first, second, _, last = map(json.loads, ended.out.splitlines())
    assert first == {"at_s": 0.5, "point": "great.36", "words": "great C2 (36)", "now": "on", "message": "91 24 40"}
    assert second["point"] is None
    counts = last["counts"]
    assert (counts["messages"], counts["of_contacts"], counts["not_in_plan"], counts["others"]) == (3, 1, 1, 1)
    assert counts["on_now"] == ["great.36"]
    assert ended.out.isascii()


def test_without_a_job_file_messages_are_told_in_words_of_midi(retrofit: Command, tmp_path: Path) -> None:
    """Channels are counted from 1; what has no words of its own is shown as it came."""
    song = recording(tmp_path / "a.mid", "91 24 40", "E0 00 40")
    ended = retrofit("listen", "--replay", song, "--fast")
    assert [line.split(" s  ", 1)[1] for line in ended.out.splitlines()] == [
        "channel 2, note on C2 (36), velocity 64",
        "channel 1, E0 00 40",
    ]
    assert "heard 2 messages\n" in ended.err


def test_nothing_heard_is_not_the_same_as_nothing_expected(retrofit: Command, job: Path, tmp_path: Path) -> None:
    """A silent line and a line that talks of something else are told apart."""
    silent = retrofit("listen", job, "--replay", recording(tmp_path / "silent.mid"), "--fast")
    assert "nothing was heard from recording silent.mid" in silent.err
    other = retrofit("listen", job, "--replay", recording(tmp_path / "other.mid", "9F 3C 40"), "--fast")
    assert "nothing of what was heard is in the plan" in other.err


def test_the_last_run_of_a_record_is_played_again(retrofit: Command, job: Path, tmp_path: Path) -> None:
    """The messages of the newest run are heard; without the job file nobody knows whose record it is."""
    path = tmp_path / "small.proving.sqlite3"
    with RecordFile(path, "Invented for tests") as record:
        for note in (0x24, 0x25):
            run = record.begin_run(RunHead("great", "d", Kind.LIVE, "p", "w", "2026-01-01T00:00:00Z", "{}"))
            message = Entry(EntryKind.MIDI, 2_000_000, bytes((0x91, note, 0x40)))
            record.add_entries(run, [Entry(EntryKind.BEGIN, 0), message])
    ended = retrofit("listen", job, "--replay", path, "--fast")
    assert ended.out == "    2.000 s  great C#2 (37): on\n"
    refused = retrofit("listen", "--replay", path, "--fast")
    assert refused.code == 2
    assert "name the job file that it belongs to" in refused.err


@pytest.mark.parametrize(
    ("arguments", "code", "words"),
    [
        (("--port", "x", "--serial", "y"), 2, "name only one of"),
        (("--fast", "--serial", "y"), 2, "--fast is for a recording"),
        (("--serial", "/nowhere/\x1b[2J"), 3, "/nowhere/\\x1b[2J cannot be opened"),
        (("--port", "no such port \x1b[2J"), 3, "no port fits the name 'no such port"),
        (("--replay", "/nowhere.mid"), 3, "/nowhere.mid"),
        (("--seconds", "-1"), 2, "--seconds"),
    ],
)
def test_what_cannot_be_listened_to_is_said(
    retrofit: Command, arguments: tuple[str, ...], code: int, words: str
) -> None:
    """Wrong calls end with 2, sources that are not there with 3, and no name reaches the terminal raw."""
    ended = retrofit("listen", *arguments)
    assert (ended.code, ended.out) == (code, "")
    assert words in ended.err
    assert "\x1b" not in ended.err


def test_with_no_input_named_there_must_be_just_one(retrofit: Command, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where there is none, that is said."""
    seen = PortsSeen((), (), (BackEnd("ALSA", ""),))
    monkeypatch.setattr("retrofit.cli.listen_source.look_once", lambda: seen)
    ended = retrofit("listen")
    assert ended.code == 2
    assert "no MIDI input is there" in ended.err


def test_a_recording_cut_off_or_spoilt_anywhere_is_refused_in_words(retrofit: Command, tmp_path: Path) -> None:
    """Whatever is wrong with the file, there is no traceback and no fault of the program."""
    whole = recording(tmp_path / "a.mid", "91 24 40", "81 24 40", "C0 05").read_bytes()
    broken = [whole[:length] for length in range(len(whole))]
    broken += [whole[:at] + bytes((value,)) + whole[at + 1 :] for at in range(8, 14) for value in (0, 255)]
    broken.append(whole[:12] + b"\0\0" + whole[14:])
    broken.append(whole.replace(bytes.fromhex("83 60 91"), bytes.fromhex("00 FF 59 02 70 07 83 60 91"), 1))
    codes = {retrofit("listen", "--fast", "--replay", _file(tmp_path, content)).code for content in broken}
    assert codes <= {0, 3}
    assert 3 in codes


def _file(folder: Path, content: bytes) -> Path:
    path = folder / "broken.mid"
    path.write_bytes(content)
    return path


@contextmanager
def listening(*arguments: object) -> Iterator[subprocess.Popen[str]]:
    """Run the command in a process of its own until the block ends."""
    command = [*LISTEN, *map(str, arguments)]
    with subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as process:
        try:
            yield process
        finally:
            process.kill()


def until_said(process: subprocess.Popen[str], words: str) -> str:
    """Read stderr up to the line that has these words; return it."""
    assert process.stderr is not None
    for line in process.stderr:
        if words in line:
            return line
    pytest.fail(f"never said: {words}")


def test_a_line_that_goes_and_comes_is_shown_and_ctrl_c_ends_it_with_counts(tmp_path: Path, job: Path) -> None:
    """A serial line is heard, away, back and heard again; Ctrl-C ends with 0 and says what was heard."""
    device = Device(tmp_path / "console")
    device.plug_in()
    with listening(job, "--serial", device.link) as process:
        assert process.stdout is not None
        until_said(process, "Ctrl-C ends it")
        device.send(bytes.fromhex("91 24 40"))
        assert "great C2 (36): on" in process.stdout.readline()
        device.unplug()
        until_said(process, "is away")
        device.plug_in()
        until_said(process, "is back")
        device.send(bytes.fromhex("F8 91 24 00"))
        assert "great C2 (36): off" in process.stdout.readline()
        process.send_signal(signal.SIGINT)
        _, said = process.communicate(timeout=PATIENCE_S)
    device.close()
    assert process.returncode == 0, said
    assert "heard 3 messages; 1 of them say nothing of contacts" in said


def test_seconds_end_it(tmp_path: Path) -> None:
    """After its time it ends by itself, with 0, though nothing was heard."""
    device = Device(tmp_path / "console")
    device.plug_in()
    begun = time.monotonic()
    with listening("--serial", device.link, "--seconds", "0.2") as process:
        _, said = process.communicate(timeout=PATIENCE_S)
    device.close()
    assert process.returncode == 0
    assert "nothing was heard from" in said
    assert time.monotonic() - begun < PATIENCE_S


def test_a_terminal_is_not_flooded_but_the_counts_are_whole(tmp_path: Path) -> None:
    """A terminal gets the beginning of a flood and how much was left out; nothing is left out of the counts."""
    song = recording(tmp_path / "flood.mid", *(["91 24 40"] * 1000))
    ours, theirs = pty.openpty()
    with subprocess.Popen(
        [*LISTEN, "--replay", str(song), "--fast"], cwd=ROOT, stdout=theirs, stderr=subprocess.PIPE, text=True
    ) as process:
        os.close(theirs)
        shown = b""
        with suppress(OSError):
            while piece := os.read(ours, 65_536):
                shown += piece
        _, said = process.communicate(timeout=PATIENCE_S)
    os.close(ours)
    assert shown.count(b"note on") == 200
    assert b"and 800 more at once, counted but not shown" in shown
    assert "heard 1000 messages" in said
