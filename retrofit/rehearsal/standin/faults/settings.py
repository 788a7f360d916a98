"""Wrong settings of the board: polarity, channel, transposition."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import partial
from random import Random

from retrofit.rehearsal.standin.faults.kind import FaultKind, Spoil
from retrofit.rehearsal.standin.faults.names import FaultError, Names
from retrofit.rehearsal.standin.wiring import Reset, Wiring
from retrofit.survey.problems import shown

MOST_SEMITONES = 60
CHANNELS = range(1, 17)


def _reverse(group: str, wiring: Wiring) -> None:
    wiring.reversed_groups ^= {group}


def _read_reverse(names: Names, text: str) -> Spoil:
    return partial(_reverse, names.group(text))


def _draw_group(names: Names, random: Random) -> str | None:
    groups = [group for group in names.drawn_groups() if names.group_points(group)]
    return random.choice(groups) if groups else None


def _channel(group: str, channel: int, wiring: Wiring) -> None:
    wiring.resets[group] = replace(wiring.resets.get(group, Reset()), channel=channel)


def _read_channel(names: Names, text: str) -> Spoil:
    group, number = _group_and_number(names, text)
    if number not in CHANNELS:
        raise FaultError(f"channel {number} found, allowed 1 to 16")
    return partial(_channel, group, number)


def _draw_channel(names: Names, random: Random) -> str | None:
    group = _draw_group(names, random)
    return None if group is None else f"{group} {random.choice(CHANNELS)}"


def _transpose(group: str, semitones: int, wiring: Wiring) -> None:
    wiring.resets[group] = replace(wiring.resets.get(group, Reset()), semitones=semitones)


def _read_transpose(names: Names, text: str) -> Spoil:
    group, semitones = _group_and_number(names, text)
    if abs(semitones) > MOST_SEMITONES:
        raise FaultError(f"{semitones} semitones found, allowed -{MOST_SEMITONES} to {MOST_SEMITONES}")
    return partial(_transpose, group, semitones)


def _draw_transpose(names: Names, random: Random) -> str | None:
    keyed = [g for g in names.drawn_groups() if any(names.points[p].note is not None for p in names.group_points(g))]
    return f"{random.choice(keyed)} {random.choice((-12, 12))}" if keyed else None


def _group_and_number(names: Names, text: str) -> tuple[str, int]:
    group, _, number = text.strip().rpartition(" ")
    if not re.fullmatch(r"[+-]?[0-9]{1,3}", number):
        raise FaultError(f"{shown(text)} found, allowed is a group with a whole number")
    return names.group(group), int(number)


KINDS = (
    FaultKind("reverse polarity", "GROUP", "the board takes idle for keyed", _read_reverse, _draw_group),
    FaultKind("set channel", "GROUP 1 to 16", "a group is set to another channel", _read_channel, _draw_channel),
    FaultKind("transpose", "GROUP SEMITONES", "a group's lowest note is set wrongly", _read_transpose, _draw_transpose),
)
