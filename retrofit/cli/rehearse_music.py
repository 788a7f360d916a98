"""Music on a stand-in console: what was played, held against what was heard."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

from retrofit.cli.output import Exit, Stop, counted, data, talk
from retrofit.cli.rehearse_console import Stage
from retrofit.cli.terminal import columns
from retrofit.plan.model import ConversionPlan
from retrofit.proving.engine import Engine
from retrofit.proving.expected import expected_of
from retrofit.proving.runs.limits import SECOND_US
from retrofit.rehearsal.standin.hands import KeyMove, Move, ShoeMove
from retrofit.rehearsal.standin.music import Music, MusicError, music_of


def play_music(plan: ConversionPlan, stage: Stage, path: Path) -> None:
    """Play a piece to its end and show for each group how many strokes were played and heard."""
    music = _read(plan, path)
    begin_us = stage.console_us() + SECOND_US
    stage.console.do(_later(move, begin_us) for move in music.moves)
    engine = Engine(expected_of(plan))
    until_us = stage.clock.now_us() + round((music.seconds + 2) * SECOND_US)
    while stage.clock.now_us() < until_us:
        engine.feed(stage.source.poll())
        stage.clock.wait()
    _show(plan, music, engine)


def _read(plan: ConversionPlan, path: Path) -> Music:
    try:
        music = music_of(path, plan)
    except MusicError as error:
        raise Stop(Exit.FILES, str(error)) from error
    if not music.moves:
        raise Stop(Exit.PROBLEMS, f"{path}: none of its messages is sent by any point of this console")
    talk(f"{path}: {music.seconds:.0f} s, {counted(music.not_here, 'message')} that nothing here sends")
    return music


def _later(move: Move, begin_us: int) -> Move:
    match move:
        case KeyMove(time_us, point, down):
            return KeyMove(begin_us + time_us, point, down)
        case ShoeMove(time_us, shoe, place):
            return ShoeMove(begin_us + time_us, shoe, place)
        case _:
            return move


def _show(plan: ConversionPlan, music: Music, engine: Engine) -> None:
    group_of = {point.point.id: point.point.group for point in plan.points}
    played = Counter(group_of[move.point] for move in music.moves if isinstance(move, KeyMove) and move.down)
    heard: Counter[str] = Counter()
    again: Counter[str] = Counter()
    for point, tally in zip(engine.expected.contacts, engine.contacts, strict=True):
        heard[point.group] += tally.strokes
        again[point.group] += tally.retriggers
    groups = [group.id for group in plan.groups if played[group.id] or heard[group.id]]
    rows = [(group, str(played[group]), str(heard[group]), str(again[group])) for group in groups]
    for line in columns([("group", "played", "heard", "again"), *rows]):
        data(line)
