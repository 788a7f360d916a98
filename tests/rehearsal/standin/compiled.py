"""A plan's board twice: the core as it was compiled from the plan's table, and the stand-in's, driven alike by lane."""

from __future__ import annotations

from pathlib import Path

from retrofit.catalogue.load import load_catalogue
from retrofit.plan.model import ConversionPlan
from retrofit.rehearsal.standin.board.board import Board
from retrofit.rehearsal.standin.board.table import BoardTable, board_table
from retrofit.scan.layout import Lane, Source
from tests.firmware.console import Console
from tests.link.core_board import compile_core

History = list[tuple[int, dict[int, int]]]
"""Ticks, rising, at which bytes of lanes change, and the bytes by lane; what happens last is an empty change."""
Sent = list[tuple[int, tuple[int, ...]]]
"""Messages with the number of the tick in which their first byte was given to the wire."""


class CompiledBoard:
    """The compiled core of a plan; `levels` are the bytes of the lanes as they are read."""

    def __init__(self, plan: ConversionPlan, folder: Path) -> None:
        self._plan = plan
        self._board = load_catalogue().boards[plan.board]
        self.console = Console(compile_core(plan, folder))

    def play(self, history: History, idle: list[int]) -> Sent:
        """Switch on with the lanes at `idle`, then change bytes of lanes; return what is sent up to the last tick."""
        self.console.switch_on()
        self._wire()
        self._put(dict(enumerate(idle)))
        sent: Sent = []
        tick = 0
        for at, changes in history:
            while tick < at:
                self.console.run()
                sent += [(tick, message) for message in self.console.messages()]
                tick += 1
            self._put(changes)
        return sent

    def _wire(self) -> None:
        for matrix in self._plan.layout.matrices:
            for row, name in enumerate(matrix.row_pins):
                pin = self._board.pin(name)
                assert pin is not None
                wire = self.console.rows[row]
                wire.port, wire.mask = self._board.ports.index(pin.port), 1 << pin.bit
                wire.columns = self._board.ports.index(matrix.column_port)
        for number, bank in enumerate(self._plan.layout.banks):
            wired = self.console.banks[number]
            wired.used, wired.common_port = 1, self._board.ports.index(bank.common_port)
            for line, name in enumerate(bank.select_pins):
                pin = self._board.pin(name)
                assert pin is not None
                wired.select_port[line], wired.select_mask[line] = self._board.ports.index(pin.port), 1 << pin.bit

    def _put(self, levels: dict[int, int]) -> None:
        for number, level in levels.items():
            self._put_lane(self._plan.layout.lanes[number], level)

    def _put_lane(self, lane: Lane, level: int) -> None:
        match lane.source:
            case Source.CHAIN:
                self.console.registers[lane.place] = level
            case Source.PORT:
                self.console.ports[self._board.ports.index(lane.where)] = level
            case Source.MATRIX:
                self.console.rows[lane.place].closed = ~level & 0xFF
            case Source.MULTIPLEXER:
                banks = [str(bank.number) for bank in self._plan.layout.banks]
                self.console.banks[banks.index(lane.where)].levels[lane.place] = level
            case Source.EXPANDER:
                self.console.expanders[int(lane.where) - 1].levels[lane.place] = level
            case Source.LISTEN:
                raise AssertionError("these consoles listen to no scanner")


class RecordingBoard(Board):
    """The stand-in's board, remembering in which tick each message was sent."""

    def __init__(self, table: BoardTable, levels: list[int]) -> None:
        """Switch it on."""
        self.given: Sent = []
        super().__init__(table, levels)

    def _send_bytes(self, message: bytes) -> None:
        self.given.append((self._now_us // self._tick_us, tuple(message)))
        super()._send_bytes(message)


def play_standin(plan: ConversionPlan, history: History, idle: list[int]) -> Sent:
    """Do the same with the stand-in's board."""
    levels = list(idle)
    board = RecordingBoard(board_table(plan), levels)
    for tick, changes in history:
        now_us = tick * plan.tick_us
        board.run_before(now_us)
        for lane, level in changes.items():
            changed = levels[lane] ^ level
            levels[lane] = level
            board.take(now_us, lane, changed)
    return board.given


def idle_levels(plan: ConversionPlan) -> list[int]:
    """Return the bytes of all lanes with every control off."""
    return [lane.invert | (0xFF & ~lane.used) for lane in plan.layout.lanes]
