"""`retrofit prove --tones` through real MIDI ports: what whoever is inside the console hears of each press."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import mido
import pytest

from retrofit.cli.output import Exit
from retrofit.proving.ports.midi_out import MidiOutput
from retrofit.proving.tones import HIGH_NOTE, LOW_NOTE, ToneChoice
from tests.cli.conftest import ROOT, written
from tests.proving.jack import JackServer
from tests.proving.plans import JOB
from tests.proving.runs.players import keys, off, on

PATIENCE_S = 60.0


@contextmanager
def proving(job: Path) -> Iterator[subprocess.Popen[str]]:
    """Prove the great over the port of a console, with tones to the port of a sounder, and see to it that it ends."""
    command = [sys.executable, "-m", "retrofit.cli.main", "prove", str(job), "--division", "great", "--ready"]
    command += ["--port", "the console", "--tones", "the sounder", "--only", "slow-run"]
    process = subprocess.Popen(
        command, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=ROOT
    )
    try:
        yield process
    finally:
        process.kill()
        process.communicate()


def wait_for(process: subprocess.Popen[str], *words: str) -> None:
    """Read what is said until any of these words come."""
    assert process.stderr is not None
    until = time.monotonic() + PATIENCE_S
    for line in process.stderr:
        if any(word in line for word in words):
            return
        assert time.monotonic() < until, f"{words} came too late"
    pytest.fail(f"the run has ended without {words}")


def played(console: MidiOutput, process: subprocess.Popen[str]) -> None:
    """Press a key of another manual, then every key of the great, each once the one before was answered."""
    wait_for(process, "slow run: play")
    for message_on, message_off in ((on(36, 3), off(36, 3)), *((on(note), off(note)) for note in keys())):
        console.send(message_on)
        time.sleep(0.1)
        console.send(message_off)
        wait_for(process, ": passed", "is not of great")


def heard_by(sounder: Any, count: int) -> list[mido.Message]:
    """Return what a port has received once there are so many messages."""
    found: list[mido.Message] = []
    until = time.monotonic() + PATIENCE_S
    while len(found) < count and time.monotonic() < until:
        found += sounder.iter_pending()
        time.sleep(0.02)
    return found


def test_every_press_is_answered_by_a_tone_that_ends(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Over a JACK server, received by mido: low for the key of another manual, high for each key, all of them ended."""
    job = written(tmp_path / "small.toml", JOB)
    with JackServer(patient=True) as server:
        monkeypatch.setenv("JACK_DEFAULT_SERVER", server.name)
        monkeypatch.setitem(os.environ, "JACK_NO_START_SERVER", "1")
        system = mido.Backend("mido.backends.rtmidi/UNIX_JACK")
        with (
            system.open_input("the sounder", virtual=True) as sounder,
            MidiOutput("the console", virtual=True) as console,
        ):
            with proving(job) as process:
                played(console, process)
                assert process.wait(PATIENCE_S) == Exit.OK
            heard = heard_by(sounder, 2 * (len(keys()) + 2))
    begun = [message.note for message in heard if message.type == "note_on"]
    ended = [message.note for message in heard if message.type == "note_off"]
    assert [note for note in begun if note in (HIGH_NOTE, LOW_NOTE)] == [LOW_NOTE, *[HIGH_NOTE] * len(keys())]
    assert sorted(begun) == sorted(ended)
    assert {message.channel for message in heard} == {ToneChoice().channel - 1}
