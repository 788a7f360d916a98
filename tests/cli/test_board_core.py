"""`retrofit board` against the firmware's own core behind a real port: what it shows, measures, changes and writes."""

from __future__ import annotations

import json
import re
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from types import SimpleNamespace

import pytest

from retrofit.cli.board_plan import contact_of, contact_points
from retrofit.firmware.description import job_revision
from retrofit.firmware.escape import shorten
from retrofit.firmware.link.board import LiveBoard
from retrofit.firmware.link.conversation import Conversation
from retrofit.firmware.link.serial_line import SerialLine
from retrofit.firmware.link.words import Kind, Store
from retrofit.plan.model import ConversionPlan
from retrofit.scan.layout import Source
from retrofit.survey.contacts import ShoeGroup
from retrofit.survey.load import load_job
from tests.cli.conftest import Command, demo, on_a_terminal, written
from tests.cli.test_board import planned
from tests.firmware.console import Console
from tests.link.core_board import CoreBoard, Hand, compile_core
from tests.link.pseudo_terminal import on_a_port

REST_TICKS = 100
"""A contact that stands still for so long (50 ms here) has come to rest."""


@pytest.fixture(scope="module")
def library(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The core compiled with the table of the gutted demo console."""
    folder = tmp_path_factory.mktemp("core")
    return compile_core(planned(written(folder / "job.toml", demo("gutted_home.toml"))), folder / "board")


@pytest.fixture
def board(library: Path) -> CoreBoard:
    """A board just switched on."""
    return CoreBoard(library)


@pytest.fixture
def port(board: CoreBoard) -> Iterator[str]:
    """The port that it is on."""
    with on_a_port(board) as name:
        yield name


@dataclass(frozen=True)
class Contact:
    """A contact on the chain: its register, its bit there, and the level of that bit when it is closed."""

    register: int
    mask: int
    closed_low: bool

    def put(self, console: Console, closed: bool) -> None:
        """Close or open it."""
        rest = console.registers[self.register] & ~self.mask
        console.registers[self.register] = rest if closed == self.closed_low else rest | self.mask


def contact(plan: ConversionPlan, point: str) -> Contact:
    """Return where a point of the plan is read."""
    lane, bit = divmod(contact_of(plan, point), 8)
    place = plan.layout.lanes[lane]
    assert place.source is Source.CHAIN
    return Contact(place.place, 1 << bit, bool(place.invert >> bit & 1))


def test_the_board_says_that_it_holds_the_plan(retrofit: Command, gutted: Path, port: str, tmp_path: Path) -> None:
    """Identity, comparison and the saved job all come from the compiled tables."""
    plan = planned(gutted)
    who = json.loads(retrofit("board", port, "who", "--yes-isolated", "--json").out)
    assert (who["digest"], who["revision"], who["board"]) == (plan.digest, job_revision(plan), "host")
    assert who["lanes"] == len(plan.layout.lanes)
    assert retrofit("board", port, "compare", gutted).code == 0
    back = tmp_path / "back.toml"
    assert retrofit("board", port, "save", back, "--yes-isolated").code == 0
    assert planned(back).digest == plan.digest


def test_the_board_has_the_name_that_the_file_has(retrofit: Command, tmp_path: Path) -> None:
    """Runs of exclamation marks, backslashes, direction marks and long names are told as the job file has them."""
    name = 'Vox !!!! \\ \u202e "Ω" ' + 50 * "tibia "
    text = re.sub(
        '^name = ".*"$', lambda _: f"name = {json.dumps(name)}", demo("gutted_home.toml"), count=1, flags=re.M
    )
    file = written(tmp_path / "job.toml", text)
    assert planned(file).job.instrument.name == name
    with on_a_port(CoreBoard(compile_core(planned(file), tmp_path / "board"))) as port:
        who = json.loads(retrofit("board", port, "who", "--yes-isolated", "--json").out)
        compared = json.loads(retrofit("board", port, "compare", file, "--json").out)
        shown = retrofit("board", port, "compare", file).out.splitlines()
    assert who["job"] == shorten(name)
    assert compared["board"] == compared["file"]
    assert shown[0].partition("plan")[2] == shown[1].partition("plan")[2]


def test_watch_shows_contacts_and_shoes_by_name(retrofit: Command, gutted: Path, board: CoreBoard, port: str) -> None:
    """A key that is played and a shoe that is moved appear as lines with id, name and state, each change once."""
    plan = planned(gutted)
    key, channel = contact(plan, "upper.60"), plan.layout.converters[_shoe(plan)].channel

    def hand(console: Console, tick: int) -> None:
        key.put(console, 300 < tick < 700)
        console.counts[channel] = 700 if tick > 500 else 300

    board.hand = hand
    ended = retrofit("board", port, "watch", gutted, "--seconds", "2", "--json")
    assert ended.code == 0, ended.err
    seen = [json.loads(line) for line in ended.out.splitlines()]
    assert [line["now"] for line in seen if line["input"] == "upper.60"] == ["on", "off"]
    assert any(line["name"].endswith("C4") for line in seen)
    assert any(line["input"] == _shoe(plan) and line["now"].startswith("value") for line in seen)
    plain = retrofit("board", port, "watch", "--seconds", "0.2", "--yes-isolated")
    assert "shoe 0: value" in plain.out


def test_levels_show_every_input_and_a_wire_on_one_that_is_unused(
    retrofit: Command, gutted: Path, board: CoreBoard, port: str
) -> None:
    """Each bit of each lane is shown once, by address and point; then the one that moves, though nobody has it."""
    plan = planned(gutted)
    lane = next(lane for lane in plan.layout.lanes if lane.source is Source.CHAIN and None in lane.points)
    bit = lane.points.index(None)
    address = f"chain register {lane.place} bit {bit}"
    board.hand = lambda console, tick: Contact(lane.place, 1 << bit, closed_low=True).put(console, 300 < tick < 600)
    ended = retrofit("board", port, "levels", gutted, "--seconds", "2", "--json")
    assert ended.code == 0, ended.err
    seen = [json.loads(line) for line in ended.out.splitlines()]
    inputs = 8 * len(plan.layout.lanes)
    assert len({row["address"] for row in seen[:inputs]}) == inputs
    assert {row["point"] for row in seen[:inputs] if row["used"]} == set(contact_points(plan).values())
    assert [(row["address"], row["used"], row["level"]) for row in seen[inputs:]] == [
        (address, False, "low"),
        (address, False, "high"),
    ]


def test_levels_once_are_a_snapshot(retrofit: Command, gutted: Path, port: str) -> None:
    """A line for each input, and no more; without a job file they are numbered by lane and bit."""
    plan = planned(gutted)
    lines = retrofit("board", port, "levels", gutted, "--once").out.splitlines()
    assert len(lines) == 8 * len(plan.layout.lanes)
    assert any(": high  upper.36 " in line for line in lines)
    assert any(line.endswith(": high  unused") for line in lines)
    plain = retrofit("board", port, "levels", "--once", "--yes-isolated").out.splitlines()
    assert re.search(r"s  lane 0 bit 0: (high|low)$", plain[0])
    assert len(plain) == len(lines)


def _shoe(plan: ConversionPlan) -> str:
    return next(iter(plan.layout.converters))


def player(points: list[str], closing: tuple[int, ...], plan: ConversionPlan) -> Hand:
    """Return a hand that plays all points again and again; `closing` are the samples of a press until it stays."""
    contacts = [contact(plan, point) for point in points]

    def hand(console: Console, tick: int) -> None:
        at = tick % (len(closing) + 2 * REST_TICKS)
        closed = closing[at] == 1 if at < len(closing) else at < len(closing) + REST_TICKS
        for one in contacts:
            one.put(console, closed)

    return hand


def points_of(plan: ConversionPlan, group: str) -> list[str]:
    """Return the ids of a group's contacts."""
    return [point for point in contact_points(plan).values() if point.startswith(f"{group}.")]


def test_bounce_is_measured_shown_and_written(retrofit: Command, gutted: Path, board: CoreBoard, port: str) -> None:
    """Edges on samples 0, 1 and 3 of a press are less than 4 periods of 500 µs apart: 2 ms; comments are kept."""
    plan = planned(gutted)
    points = points_of(plan, "upper")
    board.hand = player(points, (1, 0, 0, 1), plan)
    measured = ("board", port, "bounce", gutted, "--group", "upper", "--strokes", "3")
    rows = json.loads(retrofit(*measured, "--json").out)
    assert [row["point"] for row in rows] == points
    assert {(row["closing_us"], row["opening_us"], row["most_edges"]) for row in rows} == {(2000, 500, 3)}
    comments = [line for line in gutted.read_text("utf-8").splitlines() if "#" in line]
    ended = retrofit(*measured, "--write", "--replace")
    assert ended.code == 0, ended.err
    assert "the bounce of upper is 2 ms, the worst of " in ended.out
    assert ", in place of 3,1 ms of 20 strokes" in ended.out
    assert re.search(r"^under 0\.5 ms +0 +\d+ +#+$", ended.out, re.MULTILINE), "openings are clean"
    assert re.search(r"^under 2 ms +\d+ +#+ +0$", ended.out, re.MULTILINE), "closings bounce for 3 samples"
    assert "close and open each contact from upper.36 to upper.96 3 times, slowly, 61 contacts" in ended.err
    assert "known to one sample of 500 µs" in ended.out
    wiring = next(group.wiring for group in load_job(gutted).groups if group.id == "upper")
    assert wiring.bounce.raw == "2 ms"
    assert wiring.bounce_strokes is not None
    assert wiring.bounce_strokes >= 3
    assert [line.partition("#")[2] for line in comments] == [
        line.partition("#")[2] for line in gutted.read_text("utf-8").splitlines() if "#" in line
    ]


def test_a_group_larger_than_the_memory_is_measured_in_parts(retrofit: Command, gutted: Path, tmp_path: Path) -> None:
    """A board that captures three lanes at once is asked for 61 keys in three parts, and every key is measured."""
    plan = planned(gutted)
    points = points_of(plan, "upper")
    board = CoreBoard(compile_core(plan, tmp_path / "small", capture_lanes=3), player(points, (1,), plan))
    with on_a_port(board) as port:
        ended = retrofit("board", port, "bounce", gutted, "--group", "upper", "--strokes", "2", "--json")
    assert ended.code == 0, ended.err
    assert ended.err.count("close and open each contact") == 3
    assert [row["point"] for row in json.loads(ended.out)] == points


def test_what_nobody_plays_is_not_written(retrofit: Command, gutted: Path, port: str) -> None:
    """When the time is up and nothing was played the file stays as it was, and the command fails."""
    before = gutted.read_bytes()
    ended = retrofit("board", port, "bounce", gutted, "--group", "pedal", "--seconds", "0", "--write")
    assert ended.code == 1
    assert "nothing is measured" in ended.err
    assert gutted.read_bytes() == before


def test_a_group_of_which_a_part_was_played_is_not_written(
    retrofit: Command, gutted: Path, board: CoreBoard, port: str
) -> None:
    """Two keys of a pedalboard say nothing of the others: these are named with their strokes, and the file stays."""
    plan, before = planned(gutted), gutted.read_bytes()
    points = points_of(plan, "pedal")
    board.hand = player(points[:2], (1,), plan)
    measured = ("board", port, "bounce", gutted, "--group", "pedal", "--strokes", "2", "--seconds", "2")
    ended = retrofit(*measured, "--write", "--replace")
    assert ended.code == 1
    assert f"{len(points) - 2} of {len(points)} contacts had fewer than 2 strokes: {points[2]} (0), " in ended.err
    assert "nothing is written" in ended.err
    assert f"{points[2]}" in ended.out
    assert "not played" in ended.out
    assert gutted.read_bytes() == before


@pytest.mark.parametrize(("answer", "code"), [("y\n", 0), ("n\n", 1)])
def test_a_longer_bounce_of_more_strokes_is_asked_about(gutted: Path, board: CoreBoard, answer: str, code: int) -> None:
    """What the file has is shown beside what was measured; it stays as it is unless somebody says yes."""
    plan, before = planned(gutted), gutted.read_bytes()
    board.hand = player(points_of(plan, "upper"), (1,), plan)
    measured = ("bounce", gutted, "--group", "upper", "--strokes", "1", "--write")
    with on_a_port(board) as port:
        assert on_a_terminal(answer, "board", port, *measured) == code
    assert (gutted.read_bytes() == before) == (code == 1)


def test_a_longer_bounce_of_more_strokes_stays(retrofit: Command, gutted: Path, board: CoreBoard, port: str) -> None:
    """Where nobody can be asked both readings are said, and the option that replaces the one of the file."""
    plan, before = planned(gutted), gutted.read_bytes()
    board.hand = player(points_of(plan, "upper"), (1,), plan)
    ended = retrofit("board", port, "bounce", gutted, "--group", "upper", "--strokes", "1", "--write")
    assert ended.code == 1
    assert "the file has 3,1 ms of 20 strokes; measured was 0.5 ms, the worst of" in ended.err
    assert "--replace" in ended.err
    assert gutted.read_bytes() == before


def test_samples_that_came_late_are_said_and_not_written(
    retrofit: Command, gutted: Path, board: CoreBoard, port: str
) -> None:
    """A bounce that was measured while ticks lasted into the next may be longer than is shown."""
    plan, before = planned(gutted), gutted.read_bytes()
    board.hand = player(points_of(plan, "upper"), (1,), plan)
    board.take_until(60_000)
    measured = ("board", port, "bounce", gutted, "--group", "upper", "--strokes", "1")
    ended = retrofit(*measured, "--write", "--replace")
    assert ended.code == 1
    assert "255 or more samples of a part came late: bounces may be longer than is shown" in ended.out
    assert "may be measured too short; nothing is written" in ended.err
    assert gutted.read_bytes() == before
    assert all(row["late_samples"] == 255 for row in json.loads(retrofit(*measured, "--json").out))


def test_ctrl_c_ends_the_playing_and_keeps_what_was_measured(
    retrofit: Command, gutted: Path, board: CoreBoard, port: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Somebody who stops after fewer strokes than were asked for gets the table of those that were played."""
    plan = planned(gutted)
    board.hand = player(points_of(plan, "upper"), (1,), plan)

    def interrupted(_: float) -> None:
        board.wait(5 * REST_TICKS)
        raise KeyboardInterrupt

    monkeypatch.setattr("retrofit.cli.board_bounce.time", SimpleNamespace(sleep=interrupted, monotonic=time.monotonic))
    ended = retrofit("board", port, "bounce", gutted, "--group", "upper", "--strokes", "200", "--json")
    assert ended.code == 0, ended.err
    assert all(0 < row["strokes"] < 200 for row in json.loads(ended.out))


def test_a_locked_record_takes_no_measured_bounce(retrofit: Command, gutted: Path, board: CoreBoard, port: str) -> None:
    """Readings that were locked as found stay what was locked; the refusal says how to lock anew."""
    plan = planned(gutted)
    assert retrofit("reading", gutted, "--lock", "--initials", "QT").code == 0
    before = gutted.read_bytes()
    board.hand = player(points_of(plan, "upper"), (1,), plan)
    ended = retrofit("board", port, "bounce", gutted, "--group", "upper", "--strokes", "1", "--write", "--replace")
    assert ended.code == 1
    assert "take the lock out and lock anew" in ended.err
    assert gutted.read_bytes() == before


@pytest.mark.parametrize("question", [("bounce", "--group", "upper"), ("shoes", "--end", "open"), ("watch",)])
def test_a_board_with_another_plan_is_not_measured(
    retrofit: Command, gutted: Path, port: str, question: tuple[str, ...]
) -> None:
    """The numbers of another plan are other contacts: nothing is measured, and the comparison is named."""
    text = gutted.read_text("utf-8")
    gutted.write_text(text.replace('    { id = "', '    { id = "new-', 1), "utf-8")
    command, *options = question
    ended = retrofit("board", port, command, gutted, *options)
    assert ended.code == 1
    assert f"compare {gutted}" in ended.err


def test_shoe_ends_are_measured_and_written(retrofit: Command, gutted: Path, board: CoreBoard, port: str) -> None:
    """Closed at 100 and open at 900 of 1,023 counts are written as parts of full scale, one after the other."""
    plan = planned(gutted)
    channel = plan.layout.converters[_shoe(plan)].channel
    for end, counts in (("closed", 100), ("open", 900)):
        board.console.counts[channel] = counts
        ended = retrofit("board", port, "shoes", gutted, "--end", end, "--seconds", "0.5", "--write")
        assert ended.code == 0, ended.err
        assert f"{_shoe(plan)}: {end} at {round(counts / 1023, 4):g} of full scale" in ended.out
    shoe = next(group.points[0] for group in load_job(gutted).groups if isinstance(group, ShoeGroup))
    assert (shoe.closed_reading, shoe.open_reading) == (round(100 / 1023, 4), round(900 / 1023, 4))
    assert "its inputs are in the same places" in ended.err
    assert planned(gutted).digest != plan.digest


def test_a_shoe_that_moves_is_not_written(retrofit: Command, gutted: Path, board: CoreBoard, port: str) -> None:
    """Counts that wander while they are looked at are shown and refused."""
    plan, before = planned(gutted), gutted.read_bytes()
    channel = plan.layout.converters[_shoe(plan)].channel

    def hand(console: Console, tick: int) -> None:
        console.counts[channel] = 300 + tick % 256

    board.hand = hand
    ended = retrofit("board", port, "shoes", gutted, "--end", "closed", "--seconds", "0.5", "--write")
    assert ended.code == 1
    assert "not steady" in ended.err
    assert gutted.read_bytes() == before


@pytest.mark.parametrize(
    ("end", "counts", "said"),
    [
        ("closed", lambda _: 0, "closed: 0 to 0 counts: that is within 0.5% of a rail"),
        ("open", lambda _: 1023, "open: 1023 to 1023 counts: that is within 0.5% of a rail"),
        ("open", lambda _: 100, "closed at 0.06 and open at 0.0978 of full scale are 3.8% apart, and 12.5% are needed"),
        ("closed", lambda tick: 25 + tick // 8 % 2 * 15, "outside the ends that it knows"),
    ],
    ids=["dead wire", "shorted wire", "both ends alike", "a wire that breaks now and then"],
)
def test_a_wire_that_is_not_whole_is_no_end_of_a_shoe(
    retrofit: Command, gutted: Path, board: CoreBoard, port: str, end: str, counts: Callable[[int], int], said: str
) -> None:
    """What no whole shoe reads is refused with its figures, and the file stays as it was."""
    plan, before = planned(gutted), gutted.read_bytes()
    channel = plan.layout.converters[_shoe(plan)].channel

    def hand(console: Console, tick: int) -> None:
        console.counts[channel] = counts(tick)

    board.hand = hand
    ended = retrofit("board", port, "shoes", gutted, "--end", end, "--seconds", "0.5", "--write")
    assert ended.code == 1
    assert said in ended.err
    assert "nothing is written" in ended.err
    assert gutted.read_bytes() == before


def test_shoes_without_an_end_and_a_terminal_say_how(retrofit: Command, gutted: Path, port: str) -> None:
    """Nobody can be asked where the shoes stand, so the option is named."""
    ended = retrofit("board", port, "shoes", gutted)
    assert ended.code == 2
    assert "--end closed" in ended.err


def test_a_contact_plays_in_place_of_another_over_a_restart(
    retrofit: Command, gutted: Path, board: CoreBoard, port: str
) -> None:
    """Set and kept, the key sends the other's note also after a restart; cleared and kept, its own again."""
    plan = planned(gutted)
    ended = retrofit("board", port, "remap", "set", gutted, "upper.60", "upper.62", "--keep")
    assert ended.code == 0, ended.err
    assert "upper.60 plays upper.62\nthe" not in ended.out
    shown = json.loads(retrofit("board", port, "remap", "show", gutted, "--json").out)
    assert shown == {"store": "kept", "rows": [{"contact": "upper.60", "plays": "upper.62"}]}
    assert (
        "1 contact plays in place of others; kept over a restart"
        in retrofit("board", port, "remap", "show", gutted).out
    )
    assert "play in place of others" in retrofit("board", port, "compare", gutted).err
    assert bytes((0x90, 62)) in _played(board, plan)
    assert retrofit("board", port, "remap", "clear", "--keep", "--yes-isolated").code == 0
    assert bytes((0x90, 60)) in _played(board, plan)


def test_a_change_while_the_list_is_being_written_waits(retrofit: Command, gutted: Path, board: CoreBoard) -> None:
    """The board is busy for hundreds of ticks while it writes; the next change is asked for until it is done."""
    plan = planned(gutted)
    with on_a_port(board) as port:
        line = SerialLine(port)
        live = LiveBoard(Conversation(line, time.monotonic))
        board.wait(200)
        first, second, third = (contact_of(plan, f"upper.{note}") for note in (60, 62, 64))
        live.remap(first, second)
        live.order(Kind.REMAP_KEEP)
        assert live.remap_row(0).store is Store.WRITING
        live.remap(second, third)
        live.order(Kind.REMAP_KEEP)
        live.order(Kind.REMAP_CLEAR)
        line.close()
        assert retrofit("board", port, "remap", "show", gutted).out.startswith("no contacts play")


def _played(board: CoreBoard, plan: ConversionPlan) -> bytes:
    """Restart the board, play upper.60 once and return what it sent."""
    restarted: list[int] = []
    key = contact(plan, "upper.60")

    def hand(console: Console, tick: int) -> None:
        if not restarted:
            board.restart()
            restarted.append(tick)
        since = tick - restarted[0]
        key.put(console, 4800 < since < 5000)

    board.hand = hand
    board.wait(5200)
    board.hand = lambda *_: None
    return board.midi


def test_a_refused_remap_is_said(retrofit: Command, gutted: Path, port: str) -> None:
    """A key cannot play a stop, and a name that is no contact is answered with the nearest one."""
    plan = planned(gutted)
    stop = points_of(plan, "tabs")[0]
    ended = retrofit("board", port, "remap", "set", gutted, "upper.60", stop)
    assert ended.code == 3
    assert "name two contacts of one sort" in ended.err
    ended = retrofit("board", port, "remap", "set", gutted, "upper.600", "upper.62")
    assert ended.code == 2
    assert "did you mean 'upper.60'?" in ended.err


def test_pace_and_counters_are_shown(retrofit: Command, port: str) -> None:
    """Scan times in microseconds and what was counted, as text and as JSON."""
    pace = json.loads(retrofit("board", port, "pace", "--anew", "--yes-isolated", "--json").out)
    assert pace["tick_us"] == 500
    assert pace["ticks"] > 0
    assert "late" in retrofit("board", port, "pace", "--yes-isolated").out
    counts = json.loads(retrofit("board", port, "counters", "--yes-isolated", "--json").out)
    assert counts["bad_frames"] == 0
    assert "restarts by the watchdog" in retrofit("board", port, "counters", "--yes-isolated").out


def test_panic_and_state_reach_the_wire(retrofit: Command, board: CoreBoard, port: str) -> None:
    """Panic sends All Notes Off (controller 123, MIDI 1.0) on the channel of the upper manual; state is accepted."""
    board.wait(5000)
    board.midi = b""
    assert retrofit("board", port, "panic", "--yes-isolated").code == 0
    board.wait(200)
    assert bytes((0xB0, 123, 0)) in board.midi
    assert retrofit("board", port, "state", "--yes-isolated").code == 0
