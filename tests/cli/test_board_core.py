"""`retrofit board` against the firmware's own core behind a real port: what it shows, measures, changes and writes."""

from __future__ import annotations

import json
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from types import SimpleNamespace

import pytest

from retrofit.cli.board_plan import contact_of, contact_points
from retrofit.firmware.description import job_revision
from retrofit.plan.model import ConversionPlan
from retrofit.scan.layout import Source
from retrofit.survey.contacts import ShoeGroup
from retrofit.survey.load import load_job
from tests.cli.conftest import Command, demo, written
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
    ended = retrofit(*measured, "--write")
    assert ended.code == 0, ended.err
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
    ended = retrofit("board", port, "bounce", gutted, "--group", "upper", "--strokes", "1", "--write")
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
