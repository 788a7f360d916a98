"""`retrofit ports`: what ports there are, and why there are none."""

from __future__ import annotations

import json

import pytest

from retrofit.firmware.link.serial_line import PortSeen
from retrofit.proving.ports.errors import PortError
from retrofit.proving.ports.names import PortName
from retrofit.proving.ports.system import BackEnd, PortsSeen
from tests.cli.conftest import Command
from tests.project.test_start_up import modules_after

SEEN = PortsSeen(
    (PortName("ALSA", "Console \x1b[2J\u202e20:0"),),
    (PortName("ALSA", "Console 20:0"), PortName("JACK", "synth:in")),
    (BackEnd("ALSA", ""), BackEnd("JACK", "")),
)
SERIAL = (PortSeen("/dev/ttyUSB0", "lead \x1b]0;x\x07"),)
NOTHING = PortsSeen((), (), (BackEnd("ALSA", "the system has no MIDI sequencer"),))


def set_up(monkeypatch: pytest.MonkeyPatch, seen: PortsSeen, serial: tuple[PortSeen, ...]) -> None:
    """Make a computer with these ports."""
    monkeypatch.setattr("retrofit.cli.ports.look_once", lambda: seen)
    monkeypatch.setattr("retrofit.cli.ports.ports_seen", lambda: serial)


def test_every_port_is_a_line_and_no_name_reaches_the_terminal_raw(
    retrofit: Command, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Inputs, outputs and serial ports are listed; what would move the cursor or turn a line round is escaped."""
    set_up(monkeypatch, SEEN, SERIAL)
    ended = retrofit("ports")
    assert ended.code == 0
    assert [line.split("  ")[0] for line in ended.out.splitlines()] == ["MIDI in", "MIDI out", "MIDI out", "serial"]
    assert "Console \\x1b[2J\\u202e20:0" in ended.out
    assert "lead \\x1b]0;x\\x07" in ended.out
    assert ended.err == ""


def test_as_json_the_names_are_whole(retrofit: Command, monkeypatch: pytest.MonkeyPatch) -> None:
    """Another program gets the very names, in plain ASCII."""
    set_up(monkeypatch, SEEN, SERIAL)
    ended = retrofit("ports", "--json")
    content = json.loads(ended.out)
    assert content["midi_inputs"] == [{"back_end": "ALSA", "name": SEEN.inputs[0].name}]
    assert [port["name"] for port in content["midi_outputs"]] == ["Console 20:0", "synth:in"]
    assert content["serial"] == [{"name": "/dev/ttyUSB0", "description": SERIAL[0].description}]
    assert content["back_ends"][0] == {"name": "ALSA", "reason": ""}
    assert ended.out.isascii()


def test_where_there_are_none_it_is_said_why(retrofit: Command, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing goes to stdout; the reason of each back end to stderr; it is no failure."""
    set_up(monkeypatch, NOTHING, ())
    ended = retrofit("ports")
    assert (ended.code, ended.out) == (0, "")
    assert "no MIDI ports by ALSA: the system has no MIDI sequencer" in ended.err
    assert "no serial port is there" in ended.err
    set_up(monkeypatch, PortsSeen((), (), ()), ())
    assert "the MIDI library has no back end" in retrofit("ports").err


def test_a_service_that_cannot_be_asked_is_a_failure_and_hides_no_serial_port(
    retrofit: Command, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The serial ports are listed all the same, and the command does not end with 0."""

    def hang() -> PortsSeen:
        raise PortError("the system's MIDI service gave no answer", "see whether its sound server hangs")

    set_up(monkeypatch, SEEN, SERIAL)
    monkeypatch.setattr("retrofit.cli.ports.look_once", hang)
    ended = retrofit("ports")
    assert ended.code == 3
    assert "/dev/ttyUSB0" in ended.out
    assert "gave no answer; see whether" in ended.err


def test_no_midi_library_is_loaded_where_it_could_do_harm() -> None:
    """The list is made by another process; this one loads no library for MIDI ports."""
    assert not modules_after("ports") & {"rtmidi", "mido"}


def test_this_computer_answers(retrofit: Command) -> None:
    """Whatever ports this computer has, the list is made and each back end has a name."""
    ended = retrofit("ports", "--json")
    assert ended.code == 0, ended.err
    assert all(back_end["name"] for back_end in json.loads(ended.out)["back_ends"])
