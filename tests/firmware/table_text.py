"""Writes small console tables for the tests, as C text, from rows of numbers."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

FIRST_EDGE, COUNTED, INTEGRATOR = 0, 1, 2
CHAIN, MATRIX, PORT, MULTIPLEXER, EXPANDER, LISTEN = 0, 1, 2, 3, 4, 5
NOTES, PISTONS, STOPS, STAGES = 0, 1, 2, 3

Row = Sequence[object]


@dataclass(frozen=True)
class ConsoleTable:
    """The rows of one table; `lanes` are (used, invert), `messages` are (on, off) triples of bytes."""

    runs: Sequence[Row] = ()
    groups: Sequence[Row] = ()
    lanes: Sequence[Row] = ()
    messages: Sequence[Row] = ()
    matrices: Sequence[Row] = ()
    banks: Sequence[Row] = ()
    expanders: Sequence[int] = ()
    listened: Sequence[Row] = ()
    shoes: Sequence[Row] = ()
    stages: Sequence[int] = ()
    ladders: Sequence[Row] = ()
    channels: Sequence[int] = ()
    description: bytes = b""
    sizes: dict[str, int] = field(default_factory=dict)

    def text(self) -> str:
        """The table as the C text of console_table.h."""
        defines = "".join(f"#define {name} {value}\n" for name, value in {**self._counts(), **self.sizes}.items())
        tables = "".join(
            (
                _table("struct run run_table", self.runs),
                _table("struct group group_table", self.groups),
                _table("struct lane lane_table", self.lanes),
                _table("struct message message_table", self.messages or [((0,), (0,))]),
                _table("struct matrix matrix_table", self.matrices),
                _table("struct bank bank_table", self.banks),
                _table("uint8_t expander_table", self.expanders),
                _table("struct listened listen_table", self.listened),
                _table("struct shoe shoe_table", self.shoes),
                _table("uint16_t stage_table", self.stages),
                _table("struct ladder_step ladder_table", self.ladders),
                _table("uint8_t channel_table", self.channels),
            )
        )
        names = 'const char job_name[] TABLE_IN_FLASH = "test";\nconst char job_digest[] TABLE_IN_FLASH = "none";\n'
        names += 'const char job_revision[] TABLE_IN_FLASH = "0";\n' + _table(
            "uint8_t job_description", self.description
        )
        return f'{defines}#include "table_shape.h"\n#ifdef CONSOLE_TABLE_BODY\n{tables}{names}#endif\n'

    def _counts(self) -> dict[str, int]:
        return {
            "TABLE_FORMAT_OF_FILE": 3,
            "LANE_COUNT": len(self.lanes),
            "RUN_COUNT": len(self.runs),
            "GROUP_COUNT": len(self.groups),
            "MATRIX_COUNT": len(self.matrices),
            "BANK_COUNT": len(self.banks),
            "EXPANDER_COUNT": len(self.expanders),
            "LISTEN_PORTS": len(self.listened),
            "LISTEN_STROBE_PORT": 9,
            "LISTEN_STROBES": 8,
            "LISTEN_ACTIVE_LOW": 0,
            "LISTEN_SETTLE_US": 5,
            "LISTEN_SILENT_TICKS": 100,
            "SHOE_COUNT": len(self.shoes),
            "STAGE_ROWS": len(self.stages),
            "LADDER_ROWS": len(self.ladders),
            "CONVERTER_BITS": 10,
            "CHANNEL_COUNT": len(self.channels),
            "REGISTER_COUNT": 0,
            "HOLD_SLOTS": 0,
            "COUNTER_PLANES": 0,
            "TICK_US": 250,
            "SPI_DIVIDER": 8,
            "BUS_KHZ": 400,
            "BUS_PERIOD_TICKS": 1,
            "POWER_ON_TICKS": 0,
            "SHOE_INTERVAL_TICKS": 40,
            "RUNNING_STATUS": 1,
            "REPORT_HELD": 1,
            "MIDI_WIRE": 1,
            "MIDI_USB": 0,
            "LISTEN_STOPS": 0,
            "PANIC_PISTONS": 0,
            "PANIC_FIRST": 0,
            "PANIC_SECOND": 0,
            "JOB_DESCRIPTION_BYTES": len(self.description),
            "LINK": 0,
            "CAPTURE_LANES": 0,
            "REMAP_ROWS": 0,
        }


def _row(value: object) -> str:
    if isinstance(value, Iterable):
        return "{" + ", ".join(_row(item) for item in value) + "}"
    return str(value)


def _table(head: str, rows: Sequence[object]) -> str:
    lines = [f"    {_row(row)},\n" for row in rows] or ["    {0},\n" if head.startswith("struct") else "    0,\n"]
    return f"const {head}[] TABLE_IN_FLASH = {{\n{''.join(lines)}}};\n"


def note(channel: int, number: int) -> Row:
    """The messages of a key: note on and note off."""
    return ((0x90 | channel, number, 100), (0x80 | channel, number, 64))


def chain_of_keys(registers: int, hold: int, **sizes: int) -> ConsoleTable:
    """A chain of 74HC165 registers full of first-edge keys, active low, 64 keys to a channel."""
    return ConsoleTable(
        runs=[(CHAIN, 0, 0, registers, 0, 0)],
        groups=[(FIRST_EDGE, 1, 1, hold, 0, 0, NOTES, 0, 0, registers * 8)],
        lanes=[(0xFF, 0xFF)] * registers,
        messages=[note(contact // 64, 36 + contact % 64) for contact in range(registers * 8)],
        channels=range((registers * 8 + 63) // 64),
        sizes={"REGISTER_COUNT": registers, "HOLD_SLOTS": registers * 8, **sizes},
    )
