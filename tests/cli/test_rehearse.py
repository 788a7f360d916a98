"""`retrofit rehearse`: whole proving runs on a stand-in console, sound and with faults put in by name."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import mido
import pytest

from retrofit.cli import rehearse, rehearse_console
from retrofit.cli.output import Exit
from retrofit.plan.model import ConversionPlan
from retrofit.proving.ports.errors import PortError
from retrofit.proving.ports.midi_out import MidiOutput
from retrofit.proving.runs.clock import HeardClock
from retrofit.rehearsal.standin.console import StandIn
from tests.cli.conftest import ROOT, Command, written
from tests.proving.jack import JackServer

THREE_KEYS = """
format = 1

[instrument]
name = "Invented for tests"
invented = true

[[divisions]]
id = "great"
channel = 2

[[groups]]
kind = "manual"
id = "great"
division = "great"
compass = { count = 3 }
wiring = { owner = "us" }
"""


@pytest.fixture
def three_keys(tmp_path: Path) -> Path:
    """Return the job file of a console that is played through in a few seconds."""
    return written(tmp_path / "three.toml", THREE_KEYS)


@pytest.mark.parametrize("seed", [1, 2])
def test_the_gutted_demo_is_sound_and_nothing_is_accused(retrofit: Command, gutted: Path, seed: int) -> None:
    """Keys, tabs, pistons and the shoe pass; the contacts that are known as dead and as closed are excused."""
    ended = retrofit("rehearse", gutted, "--fast", "--seed", seed)
    assert ended.code == Exit.OK, ended.err
    assert ended.out.splitlines() == [
        "upper: 60 passed, 1 excused",
        "lower: 60 passed, 1 excused",
        "pedal: 25 passed",
        "controls: 32 passed",
    ]


def test_the_theatre_demo_is_sound_and_nothing_is_accused(retrofit: Command, theatre: Path) -> None:
    """All its divisions pass, second touch and crescendo roller included, with a soak at the end of each."""
    ended = retrofit("rehearse", theatre, "--fast", "--soak", "1")
    assert ended.code == Exit.OK, ended.err
    assert [line for line in ended.out.splitlines() if "failed" in line or line.startswith(" ")] == []
    assert len(ended.out.splitlines()) == 8


def test_a_clumsy_player_does_not_make_a_sound_console_faulty(retrofit: Command, gutted: Path) -> None:
    """Keys missed, brushed and struck twice are asked for, and nothing is accused."""
    ended = retrofit("rehearse", gutted, "--fast", "--division", "upper", "--player", "clumsy", "--seed", "3")
    assert ended.code == Exit.OK, ended.out + ended.err


@pytest.mark.parametrize(
    ("fault", "division", "cause"),
    [
        ("turn connector J3", "upper", "connector J3 (chain register 2) is plugged in turned round"),
        ("dead contact upper F#6", "upper", "upper F#6 (90) is dead"),
        ("swap wires pedal C2 and pedal F3", "pedal", "(pedal F3 (53)) and wire J9.2 (pedal C2 (36)) are crossed"),
        ("dead contact solo C4", "solo", "solo C4 (60) is dead"),
        ("stuck contact upper C4", "upper", "upper C4 (60) is stuck"),
        ("set channel pedal 5", "pedal", "pedal sends on channel 5"),
    ],
)
def test_a_fault_is_found_as_its_cause(
    retrofit: Command, gutted: Path, theatre: Path, fault: str, division: str, cause: str
) -> None:
    """What was put in by name is named as the cause, in the user's own words."""
    ended = retrofit(
        "rehearse", theatre if division == "solo" else gutted, "--fast", "--division", division, "--fault", fault
    )
    assert ended.code == Exit.OK, ended.err
    assert f"put in: {fault}" in ended.err
    assert [line for line in ended.out.splitlines() if line.startswith("  cause: ") and cause in line], ended.out


def test_two_faults_are_both_found(retrofit: Command, gutted: Path) -> None:
    """A turned connector and a dead contact in one manual are two causes, and no third is named."""
    faults = ("--fault", "turn connector J3", "--fault", "dead contact upper F#6")
    lines = retrofit("rehearse", gutted, "--fast", "--division", "upper", *faults).out.splitlines()
    causes = [line for line in lines if "; look first: " in line]
    assert len(causes) == 2
    assert "connector J3 (chain register 2) is plugged in turned round" in causes[0]
    assert "upper F#6 (90) is dead" in causes[1]


def test_the_same_seed_makes_the_same_course(retrofit: Command, gutted: Path) -> None:
    """What is said and shown is the same, word for word."""
    course = ("rehearse", gutted, "--fast", "--division", "pedal", "--player", "clumsy", "--seed", "7")
    assert retrofit(*course) == retrofit(*course)


def test_nothing_is_written(retrofit: Command, gutted: Path) -> None:
    """Neither the job file nor a record of a run: a rehearsal proves no instrument."""
    before = gutted.read_bytes()
    ended = retrofit("rehearse", gutted, "--fast", "--division", "pedal")
    assert "no instrument is proven by it, and nothing is written" in ended.err
    assert gutted.read_bytes() == before
    assert list(gutted.parent.iterdir()) == [gutted]


def test_a_fault_that_is_none_is_refused(retrofit: Command, gutted: Path) -> None:
    """The words that were found stand in the message, and where all faults are listed."""
    ended = retrofit("rehearse", gutted, "--fault", "dead contact upper H9")
    assert ended.code == Exit.USAGE
    assert "upper H9" in ended.err
    assert "retrofit rehearse --list-faults" in ended.err


def test_faults_are_listed_without_a_job(retrofit: Command) -> None:
    """Each with the form in which it is written and what it is."""
    ended = retrofit("rehearse", "--list-faults")
    assert ended.code == Exit.OK
    assert any(line.startswith("turn connector CONNECTOR ") for line in ended.out.splitlines())


def test_a_fault_that_nobody_notices_is_no_success(retrofit: Command, gutted: Path) -> None:
    """A fault in another division than the one that is rehearsed goes unnoticed, and that is said."""
    ended = retrofit("rehearse", gutted, "--fast", "--division", "pedal", "--fault", "dead contact upper C4")
    assert ended.code == Exit.PROBLEMS
    assert "nothing was noticed" in ended.err


def test_an_accused_sound_console_is_no_success(
    retrofit: Command, gutted: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where a console that is said to be sound fails, the command does too."""

    def spoilt(plan: ConversionPlan, faults: tuple[str, ...], seed: int) -> StandIn:
        return rehearse_console.made_console(plan, (*faults, "dead contact pedal C3"), seed)

    monkeypatch.setattr(rehearse, "made_console", spoilt)
    ended = retrofit("rehearse", gutted, "--fast", "--division", "pedal")
    assert ended.code == Exit.PROBLEMS
    assert "a sound console was accused" in ended.err


def test_a_plan_with_errors_is_not_rehearsed(retrofit: Command, faulty: Path) -> None:
    """No board could be built from it."""
    assert retrofit("rehearse", faulty, "--fast").code == Exit.PROBLEMS


def test_ports_cannot_be_fast(retrofit: Command, gutted: Path) -> None:
    """Real ports take real time."""
    assert retrofit("rehearse", gutted, "--ports", "--fast").code == Exit.USAGE


def test_where_the_system_has_no_ports_it_is_said_and_the_rehearsal_goes_on(
    retrofit: Command, three_keys: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A system that lets no program be a port is no reason not to rehearse."""

    def refuses(_: object) -> None:
        raise PortError("the system lets no program be a MIDI port", "invented for this test")

    monkeypatch.setattr(MidiOutput, "__enter__", refuses)
    monkeypatch.setattr(rehearse_console, "MonotonicClock", HeardClock)
    ended = retrofit("rehearse", three_keys, "--ports")
    assert ended.code == Exit.OK, ended.err
    assert "the rehearsal stays inside this program" in ended.err


def test_music_is_played_and_every_stroke_is_heard(retrofit: Command, gutted: Path, tmp_path: Path) -> None:
    """Strokes of a Standard MIDI File, as written by mido, arrive once each; what nothing here sends is counted."""
    track = mido.MidiTrack()
    for note in (60, 64, 67, 72) * 3:
        track.append(mido.Message("note_on", channel=0, note=note, velocity=64, time=0))
        track.append(mido.Message("note_off", channel=0, note=note, velocity=64, time=480))
    track.append(mido.Message("note_on", channel=9, note=35, velocity=64, time=0))
    file = mido.MidiFile()
    file.tracks.append(track)
    file.save(tmp_path / "music.mid")
    ended = retrofit("rehearse", gutted, "--fast", "--music", tmp_path / "music.mid")
    assert ended.code == Exit.OK, ended.err
    assert [line.split() for line in ended.out.splitlines()] == [
        ["group", "played", "heard", "again"],
        ["upper", "12", "12", "0"],
    ]
    assert "1 message that nothing here sends" in ended.err


def test_what_is_no_music_is_refused(retrofit: Command, gutted: Path) -> None:
    """A file that is no Standard MIDI File, and one that is not there."""
    for path in (gutted, gutted.with_name("nothing.mid")):
        ended = retrofit("rehearse", gutted, "--fast", "--music", path)
        assert ended.code == Exit.FILES
        assert "allowed is a Standard MIDI File" in ended.err


def test_a_rehearsal_through_real_ports_finds_the_fault(three_keys: Path) -> None:
    """Over a JACK server's own MIDI ports: the stand-in sends, the run listens, and the crossed wires are named."""
    with JackServer(patient=True) as server:
        environment = {**os.environ, "JACK_DEFAULT_SERVER": server.name, "JACK_NO_START_SERVER": "1"}
        command = [sys.executable, "-m", "retrofit.cli.main", "rehearse", str(three_keys), "--ports"]
        ended = subprocess.run(
            [*command, "--fault", "swap wires great C2 and great D2"],
            env=environment,
            cwd=ROOT,
            capture_output=True,
            text=True,
            timeout=120,
            check=False,
        )
    assert ended.returncode == Exit.OK, ended.stderr
    assert "the stand-in is the MIDI port" in ended.stderr
    assert "(great C2 (36)) and wire J1.4 (great D2 (38)) are crossed" in ended.stdout
