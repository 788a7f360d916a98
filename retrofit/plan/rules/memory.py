"""Whether the firmware of a console fits the board's memory at all, its stack included."""

from __future__ import annotations

from collections.abc import Iterator

from retrofit.catalogue.front_ends import FirmwareMemory, load_firmware_memory
from retrofit.plan.facts import Facts
from retrofit.plan.model import Severity
from retrofit.plan.rules.description import firmware_bytes
from retrofit.plan.rules.rule import Rule, Said
from retrofit.survey.wishes import DebounceFamily

_REMEDY = "choose a larger board under wanted.board, or divide the console between two boards"


def _memory_too_small(facts: Facts) -> Iterator[Said]:
    board = facts.board
    if board is None or board.id not in load_firmware_memory():
        return
    data, program = data_bytes(facts, load_firmware_memory()[board.id]), firmware_bytes(facts, board)
    room = board.flash_bytes - board.boot_bytes
    if data > board.ram_bytes:
        found = f"the firmware of this console takes up to {data} bytes of data memory, its stack included"
        yield Said("wanted.board", found, f"{board.ram_bytes} bytes, which the {board.name} has", _REMEDY)
    if program > room:
        found = f"the firmware of this console takes up to {program} bytes of program memory"
        yield Said("wanted.board", found, f"{room} bytes, which the {board.name} leaves beside its loader", _REMEDY)


def data_bytes(facts: Facts, memory: FirmwareMemory) -> int:
    """Return the data memory that the firmware takes, with the deepest stack that was seen."""
    lanes = facts.layout.lanes
    first_edge = {
        group.id for group in facts.groups if group.debounce and group.debounce.family is DebounceFamily.FIRST_EDGE
    }
    holds = sum(lane.used.bit_count() for lane in lanes if lane.group in first_edge)
    groups = len({lane.group for lane in lanes})
    return (
        memory.ram_base
        + len(lanes) * memory.ram_lane
        + groups * memory.ram_group
        + holds * memory.ram_hold
        + memory.ram_stack
    )


RULES = (
    Rule(
        "memory-too-small",
        "The firmware does not fit the board",
        Severity.ERROR,
        "data and program memory that the firmware of this console takes with the board's",
        _memory_too_small,
        locked=True,
        why=(
            "A sketch that is larger than the program memory cannot be loaded. One whose data meet its stack loads and "
            "then misbehaves, now and then and without a sign."
        ),
        remedy=_REMEDY,
    ),
)
