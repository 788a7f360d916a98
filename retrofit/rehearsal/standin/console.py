"""The stand-in console: contacts, wires and board in virtual time, as fast as the machine can reckon."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Mapping
from heapq import heappop, heappush
from operator import itemgetter

from retrofit.plan.model import ConversionPlan
from retrofit.rehearsal.bounce import Bounce
from retrofit.rehearsal.standin.board.board import Board
from retrofit.rehearsal.standin.board.table import board_table
from retrofit.rehearsal.standin.circuit import Circuit
from retrofit.rehearsal.standin.hands import KeyMove, Move, ShoeMove, Spike
from retrofit.rehearsal.standin.inputs import Inputs
from retrofit.rehearsal.standin.movement import Movement
from retrofit.rehearsal.standin.wiring import Wiring

COARSE_MOST, FINE_MOST = 127, 16_383


class StandIn:
    """A console that is switched on at time 0; the same plan, faults, moves and seed give the same messages.

    `bounces` gives the bounce of each point's contacts; one that is missing is clean.
    """

    def __init__(self, plan: ConversionPlan, wiring: Wiring, bounces: Mapping[str, Bounce], seed: int) -> None:
        table = board_table(plan, wiring.reversed_groups, wiring.resets)
        self._circuit = Circuit(wiring)
        self._inputs = Inputs(wiring, self._circuit)
        self._board = Board(table, self._inputs.lanes)
        self._movement = Movement(wiring, bounces, seed)
        self._shoes = {shoe.point: (number, shoe.fine) for number, shoe in enumerate(table.shoes)}
        self._values: dict[int, int] = {}
        self._moves: list[tuple[int, int, Move]] = []
        self._count = 0
        self.now_us = 0

    @property
    def resting(self) -> bool:
        """Whether no hand has anything left to do."""
        return not self._moves

    def do(self, moves: Iterable[Move]) -> None:
        """Let moves be made in their time; one that lies in the past is made at once."""
        for move in moves:
            self._count += 1
            heappush(self._moves, (max(move.time_us, self.now_us), self._count, move))

    def advance(self, until_us: int) -> list[tuple[int, bytes]]:
        """Let time pass up to a moment; return the messages that arrived before it, each with its time."""
        while True:
            move_us = self._moves[0][0] if self._moves else until_us
            edge_us = self._movement.next_us()
            if edge_us is not None and edge_us < min(move_us, until_us):
                self._edge()
            elif move_us < until_us:
                self._make(*heappop(self._moves))
            else:
                break
        self.now_us = max(self.now_us, until_us)
        if self._circuit.powerless:
            return []
        self._board.run_before(until_us)
        sent = self._board.sent
        arrived = bisect_left(sent, until_us, key=itemgetter(0))
        self._board.sent = sent[arrived:]
        return sent[:arrived]

    def _make(self, time_us: int, _: int, move: Move) -> None:
        match move:
            case KeyMove(_, point, True):
                self._movement.press(point, time_us)
            case KeyMove(_, point, False):
                self._movement.release(point, time_us)
            case Spike(_, point, length_us):
                self._movement.spike(point, time_us, length_us)
            case ShoeMove(_, shoe, place):
                self._move_shoe(time_us, shoe, place)

    def _move_shoe(self, time_us: int, shoe: str, place: float) -> None:
        if shoe not in self._shoes:
            return
        number, fine = self._shoes[shoe]
        value = round(max(0.0, min(1.0, place)) * (FINE_MOST if fine else COARSE_MOST))
        if self._values.get(number) != value:
            self._values[number] = value
            self._board.run_before(time_us)
            self._board.move_shoe(number, value)

    def _edge(self) -> None:
        """Make the next edge; the board is run up to it only where it reads another level by it."""
        edge = self._movement.take()
        if edge is None:
            return
        if edge.contact is None:
            changes = self._circuit.loose(edge.joint, edge.closed)
        else:
            changes = self._circuit.contact(edge.contact, edge.closed)
        if changes and not self._circuit.powerless:
            self._board.run_before(edge.time_us)
            for lane, mask in self._inputs.take(changes):
                self._board.take(edge.time_us, lane, mask)
