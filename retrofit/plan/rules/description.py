"""Whether the stored job description fits beside the firmware."""

from __future__ import annotations

from collections.abc import Iterator

from retrofit.catalogue.front_ends import load_firmware_memory
from retrofit.catalogue.parts import Board
from retrofit.plan.as_built import stored_text
from retrofit.plan.facts import Facts
from retrofit.plan.model import Severity
from retrofit.plan.rules.rule import Rule, Said
from retrofit.survey.instrument import StoredDescription
from retrofit.survey.packed_text import pack_text

LITTLE_FLASH_BYTES = 64 * 1024
"""A board with more holds the firmware and any description that the firmware's tables can hold beside each other."""
_FIELD = "wanted.stored_description"
_SMALLER = {
    StoredDescription.WHOLE: (StoredDescription.WITHOUT_REMARKS, StoredDescription.NONE),
    StoredDescription.WITHOUT_REMARKS: (StoredDescription.NONE,),
    StoredDescription.NONE: (),
}


def _description_too_large(facts: Facts) -> Iterator[Said]:
    board = facts.board
    if board is None or board.flash_bytes > LITTLE_FLASH_BYTES or board.id not in load_firmware_memory():
        return
    room = board.flash_bytes - board.boot_bytes - firmware_bytes(facts, board)
    wanted = facts.job.wanted.stored_description
    needed = description_bytes(facts, wanted)
    if needed > max(room, 0):
        smaller = " or ".join(f"'{word}' ({description_bytes(facts, word)} bytes)" for word in _SMALLER[wanted])
        yield Said(
            _FIELD,
            f"the job description takes {needed} bytes of the board's program memory",
            f"{max(room, 0)} bytes, which the firmware leaves",
            f"write {_FIELD} = {smaller}",
        )


def description_bytes(facts: Facts, wanted: StoredDescription) -> int:
    """Return the bytes of program memory that the stored description takes, as much of the job as `wanted` keeps."""
    kept = facts.job.wanted.model_copy(update={"stored_description": wanted})
    text = stored_text(facts.job.model_copy(update={"wanted": kept}), facts.points)
    return len(pack_text(text)) if text else 0


def firmware_bytes(facts: Facts, board: Board) -> int:
    """Return the program memory that the firmware takes, tables included and the description not."""
    memory = load_firmware_memory()[board.id]
    groups = len({lane.group for lane in facts.layout.lanes})
    return memory.flash_base + len(facts.layout.lanes) * memory.flash_lane + groups * memory.flash_group


RULES = (
    Rule(
        "description-too-large",
        "The job description does not fit the board",
        Severity.ERROR,
        "the packed job description with the program memory that the firmware leaves",
        _description_too_large,
        locked=True,
        why=(
            "The board keeps the job, so that it can be asked in later years what it is; a sketch that is larger "
            "than the memory cannot be loaded at all."
        ),
        remedy='write wanted.stored_description = "without-remarks" or "none", or choose a board with more memory',
    ),
)
