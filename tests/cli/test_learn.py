"""`retrofit learn`: from a console wired in any order to the addresses in its job file."""

from __future__ import annotations

import tomllib
from pathlib import Path
from random import Random

import mido
import pytest

from retrofit.cli import learn
from retrofit.cli.learn_lesson import SeenPresses
from retrofit.cli.output import Exit
from retrofit.firmware.link.answers import LaneSeen
from retrofit.plan.model import ConversionPlan
from retrofit.proving.evidence import Stroke
from retrofit.proving.learning.lesson import Lesson
from retrofit.proving.learning.table import lesson_keys, place_at
from retrofit.proving.learning.votes import AskedPress
from retrofit.proving.runs.clock import HeardClock
from retrofit.proving.runs.limits import SECOND_US
from retrofit.rehearsal.standin.manners import EXACT
from retrofit.rehearsal.standin.player import Player
from tests.cli.conftest import Command
from tests.proving.learning.wired_anyhow import WiredAnyhow, gutted_plan, wired_anyhow

TICKS_PER_S = 1000


def run_of(plan: ConversionPlan, anyhow: WiredAnyhow, group: str, *, without: str = "") -> list[tuple[int, bytes]]:
    """Return the messages of an exact run over a group, perhaps without one of its keys."""
    points = [key.point for key in lesson_keys(plan, group) if key.point != without]
    anyhow.console.advance(6 * SECOND_US)
    anyhow.console.do(Player(Random(1), EXACT).run(points, 7 * SECOND_US))
    return anyhow.console.advance(60 * SECOND_US)


def recorded(path: Path, messages: list[tuple[int, bytes]]) -> Path:
    """Write messages to a Standard MIDI File of one track, a thousand ticks a second."""
    track = mido.MidiTrack([mido.MetaMessage("set_tempo", tempo=1_000_000)])
    before = 0
    for time_us, message in messages:
        at = time_us * TICKS_PER_S // SECOND_US
        track.append(mido.Message.from_bytes(message, time=at - before))
        before = at
    file = mido.MidiFile(ticks_per_beat=TICKS_PER_S)
    file.tracks.append(track)
    file.save(path)
    return path


@pytest.fixture
def pedal_run(tmp_path: Path) -> tuple[Path, dict[str, str]]:
    """Return a recording of a run over a pedal that is wired in any order, and where each wire really is."""
    plan = gutted_plan()
    anyhow = wired_anyhow(plan, "pedal", Random(4))
    return recorded(tmp_path / "run.mid", run_of(plan, anyhow, "pedal")), anyhow.truth


def test_one_run_puts_the_addresses_into_the_job(
    retrofit: Command, gutted: Path, pedal_run: tuple[Path, dict[str, str]]
) -> None:
    """What would change is shown, the job then says where each wire is, and the rest of the file stays as it was."""
    run, truth = pedal_run
    before = gutted.read_text(encoding="utf-8")
    ended = retrofit("learn", gutted, "pedal", "--replay", run, "--yes")
    assert ended.code == Exit.OK, ended.err
    after = gutted.read_text(encoding="utf-8")
    addresses = tomllib.loads(after)["addresses"]
    assert {point: addresses[point] for point in truth} == truth
    assert set(before.splitlines()) - set(after.splitlines()) == set()
    moved = [line for line in ended.out.splitlines() if " -> " in line]
    assert any(line.endswith(f"-> {truth['pedal.36']}") for line in moved)
    assert "pedal is wired" in ended.out
    assert retrofit("plan", gutted, "--points").out.count(truth["pedal.36"]) >= 1
    assert retrofit("check", gutted).code == Exit.OK


def test_without_consent_nothing_is_written(
    retrofit: Command, gutted: Path, pedal_run: tuple[Path, dict[str, str]]
) -> None:
    """Where nobody can be asked, what was learned is shown and the file stays as it was."""
    before = gutted.read_bytes()
    ended = retrofit("learn", gutted, "pedal", "--replay", pedal_run[0])
    assert ended.code == Exit.PROBLEMS
    assert " -> " in ended.out
    assert "nothing written; --yes writes it without asking" in ended.err
    assert gutted.read_bytes() == before


def test_a_recording_that_leaves_a_key_out_says_what_to_ask(retrofit: Command, gutted: Path, tmp_path: Path) -> None:
    """A recording answers no question: what is open is listed, and nothing is written."""
    plan = gutted_plan()
    messages = run_of(plan, wired_anyhow(plan, "pedal", Random(4)), "pedal", without="pedal.40")
    before = gutted.read_bytes()
    ended = retrofit("learn", gutted, "pedal", "--replay", recorded(tmp_path / "run.mid", messages), "--yes")
    assert ended.code == Exit.PROBLEMS
    assert "are certain; nothing written; still to ask:" in ended.err
    assert "  press pedal " in ended.err
    assert gutted.read_bytes() == before


def test_a_wire_among_another_groups_contacts_is_no_order(retrofit: Command, gutted: Path, tmp_path: Path) -> None:
    """A key that sounds as one of another division has to be moved by hand."""
    plan = gutted_plan()
    messages = run_of(plan, wired_anyhow(plan, "pedal", Random(4)), "pedal")
    astray = [(t, bytes((m[0] & 0xF0, 60, m[2])) if m[1] == 36 else m) for t, m in messages]
    ended = retrofit("learn", gutted, "pedal", "--replay", recorded(tmp_path / "run.mid", astray), "--yes")
    assert ended.code == Exit.PROBLEMS
    assert "which is another group's; move its wire to an input of its own group" in ended.err


def test_keys_that_never_speak_alone_are_a_matter_of_wires(
    retrofit: Command, gutted: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two keys that always come together are named, and nothing is written."""

    def joined(lesson: Lesson, *_: object, **__: object) -> None:
        for key in lesson.keys:
            places = {"pedal.36": {"one", "two"}, "pedal.37": {"one", "two"}}.get(key.point, {key.point})
            lesson.asked += [AskedPress(key.point, frozenset(places))] * 8

    monkeypatch.setattr(learn, "over_midi", joined)
    ended = retrofit("learn", gutted, "pedal", "--yes")
    assert ended.code == Exit.PROBLEMS
    assert "pedal C2 (36) does not speak alone: one, two" in ended.err


@pytest.mark.parametrize(
    ("arguments", "code", "words"),
    [
        (("pedl",), Exit.USAGE, "there is no group 'pedl'; did you mean 'pedal'"),
        (("shoe",), Exit.PROBLEMS, "at least 2 have an order to learn"),
        (("pedal", "--board", "/dev/null", "--port", "x"), Exit.USAGE, "name only one of"),
    ],
)
def test_what_cannot_be_learned_is_refused(
    retrofit: Command, gutted: Path, arguments: tuple[str, ...], code: Exit, words: str
) -> None:
    """A group that there is not, one without contacts, two sources at once."""
    ended = retrofit("learn", gutted, *arguments)
    assert ended.code == code
    assert words in ended.err


def test_several_contacts_under_a_key_are_refused(retrofit: Command, theatre: Path) -> None:
    """Second touch speaks with the first: playing cannot tell which contact is which."""
    ended = retrofit("learn", theatre, "accompaniment")
    assert ended.code == Exit.PROBLEMS
    assert "playing does not tell them apart" in ended.err


class Looks:
    """A board of which only the lanes are asked: one level after the other."""

    def __init__(self, *levels: dict[int, int]) -> None:
        self._levels = list(levels)

    def lanes(self) -> tuple[LaneSeen, ...]:
        """Return the next look; the last one stays."""
        look = self._levels.pop(0) if len(self._levels) > 1 else self._levels[0]
        return tuple(LaneSeen(index, level, 0, 0) for index, level in look.items())


def test_the_board_shows_inputs_that_no_point_has() -> None:
    """Seven pins of the pedal's last register are unused: over the link a press of one of them has its place."""
    plan = gutted_plan()
    spare = next(key for key, place in place_at(plan).items() if place in plan.layout.spare)
    rest = {lane.index: 0xFF for lane in plan.layout.lanes}
    pressed = {**rest, spare[0]: 0xFF & ~(1 << spare[1])}
    clock = HeardClock(step_us=100_000)
    seen = SeenPresses(Looks(rest, rest, pressed, rest), clock, place_at(plan))
    strokes: list[Stroke] = []
    for _ in range(20):
        strokes += seen.finished(clock.now_us())
        clock.wait()
    assert [[heard.point for heard in stroke.heard] for stroke in strokes] == [[place_at(plan)[spare]]]


def test_the_silence_of_a_recording_is_no_answer(retrofit: Command, gutted: Path, tmp_path: Path) -> None:
    """A key known as dead has to be pressed once by somebody: a recording that has ended did not do that."""
    plan = gutted_plan()
    messages = run_of(plan, wired_anyhow(plan, "upper", Random(9)), "upper")
    ended = retrofit("learn", gutted, "upper", "--replay", recorded(tmp_path / "run.mid", messages), "--yes")
    assert ended.code == Exit.PROBLEMS
    assert "  press upper C#4 (61)" in ended.err
