"""A pretended player: runs, chords, stops and shoes as moves in time, and the presses that he is asked for."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from random import Random

from retrofit.plan.model import ConversionPlan
from retrofit.rehearsal.standin.hands import KeyMove, Move, ShoeMove, Spike
from retrofit.rehearsal.standin.manners import BRUSH_MS, REACTION_MS, SHORTEST_HELD_MS, SHORTEST_UP_MS, SLOW, Manner
from retrofit.survey.contacts import Condition
from retrofit.survey.points import Point, PointKind

US_PER_MS = 1000
CHORD_SPREAD_MS = 25
"""Fingers of a chord come down within so long; assumed."""
SHOE_STEP_MS = 10
SHOE_NOISE = 0.004
"""A shoe is seen anew each step; its place trembles by so much of its way; assumed."""
SPIKE_US = (5, 400)
"""How long interference keys a line; assumed."""


def control_points(plan: ConversionPlan, group: str) -> list[str]:
    """Return the controls of a group that a hand finds, in their order of wiring."""
    points = [point.point for point in plan.points if point.point.group == group]
    found = [point for point in points if point.kind is not PointKind.SHOE and _is_there(point)]
    return [point.id for point in sorted(found, key=lambda point: point.position)]


def shoe_points(plan: ConversionPlan) -> list[str]:
    """Return the shoes that are read by the converter."""
    staged = {point.point.stage_of for point in plan.points}
    return [p.point.id for p in plan.points if p.shoe is not None and p.point.takes_part and p.point.id not in staged]


def _is_there(point: Point) -> bool:
    return point.found.condition is not Condition.NOT_FITTED


class Player:
    """Plays in a manner; the same random numbers give the same moves."""

    def __init__(self, random: Random, manner: Manner = SLOW) -> None:
        self._random, self._manner = random, manner

    def run(self, points: Sequence[str], start_us: int) -> list[Move]:
        """Return a run over points in their order, slips included."""
        moves: list[Move] = []
        now_us = float(start_us)
        number = 0
        while number < len(points):
            if not self._slips(self._manner.missed):
                moves += self._stroke(points, number, now_us)
                if self._slips(self._manner.doubled):
                    now_us += self._pace_us()
                    moves += self._stroke(points, number, now_us)
            now_us += self._pace_us()
            number += -1 if number and self._slips(self._manner.again) else 1
        return sorted(moves, key=lambda move: move.time_us)

    def press(self, point: str, start_us: int, held_ms: float | None = None) -> list[Move]:
        """Return one clean stroke."""
        held_us = (held_ms or self._held_ms()) * US_PER_MS
        return [KeyMove(start_us, point, True), KeyMove(start_us + round(held_us), point, False)]

    def asked(self, point: str, asked_us: int) -> list[Move]:
        """Return what the player does when he is asked to press a point: he takes his time, and presses it."""
        return self.press(point, asked_us + round(self._random.uniform(*REACTION_MS) * US_PER_MS))

    def chord(self, points: Iterable[str], start_us: int, held_ms: float = 1000.0) -> list[Move]:
        """Return points that are held together: down one after the other, then all up."""
        moves: list[Move] = []
        for point in points:
            down_us, up_us = (round(self._random.uniform(0, CHORD_SPREAD_MS) * US_PER_MS) for _ in range(2))
            moves.append(KeyMove(start_us + down_us, point, True))
            moves.append(KeyMove(start_us + round(held_ms * US_PER_MS) + up_us, point, False))
        return sorted(moves, key=lambda move: move.time_us)

    def change(self, points: Iterable[str], start_us: int, *, on: bool) -> list[Move]:
        """Return stops that are put on, or off, all within the time of a combination change."""
        spread_us = 2 * CHORD_SPREAD_MS * US_PER_MS
        return [KeyMove(start_us + self._random.randrange(spread_us), point, on) for point in points]

    def sweep(self, shoe: str, start_us: int, seconds: float) -> list[Move]:
        """Return a shoe that goes from one end to the other and back, trembling on the way."""
        steps = max(2, round(1000 * seconds / SHOE_STEP_MS))
        return [
            ShoeMove(start_us + n * SHOE_STEP_MS * US_PER_MS, shoe, self._trembling(1 - abs(2 * n / steps - 1)))
            for n in range(steps + 1)
        ]

    def interference(self, points: Sequence[str], start_us: int, seconds: float, per_minute: float) -> list[Move]:
        """Return moments at which something switches nearby and keys a few lines for an instant, hands off."""
        moves: list[Move] = []
        now_us = float(start_us)
        while points and (now_us := now_us + self._random.expovariate(per_minute / 60e6)) < start_us + seconds * 1e6:
            struck = self._random.sample(list(points), min(len(points), self._random.randint(1, 4)))
            moves += [Spike(round(now_us), point, self._random.randint(*SPIKE_US)) for point in struck]
        return moves

    def _stroke(self, points: Sequence[str], number: int, at_us: float) -> list[Move]:
        moves = self.press(points[number], round(at_us))
        if self._slips(self._manner.brushed):
            beside = points[number - 1] if number else points[min(1, len(points) - 1)]
            brushed_us = round(at_us + self._random.uniform(0, 20) * US_PER_MS)
            if beside != points[number]:
                moves += self.press(beside, brushed_us, self._random.uniform(*BRUSH_MS))
        return moves

    def _slips(self, share: float) -> bool:
        return share > 0 and self._random.random() < share

    def _spread(self, mean: float) -> float:
        return mean * (1 + self._manner.spread * self._random.uniform(-1, 1))

    def _held_ms(self) -> float:
        longest = max(SHORTEST_HELD_MS, self._manner.pace_ms * (1 - self._manner.spread) - SHORTEST_UP_MS)
        return min(longest, max(SHORTEST_HELD_MS, self._spread(self._manner.pace_ms * self._manner.held_share)))

    def _pace_us(self) -> float:
        return self._spread(self._manner.pace_ms) * US_PER_MS

    def _trembling(self, place: float) -> float:
        return min(1.0, max(0.0, place + self._random.uniform(-SHOE_NOISE, SHOE_NOISE)))
