"""How exact the emulator's cycles are: instructions beside the Cortex-M0+ Technical Reference Manual (ARM DDI 0484C).

The figures are those of its table of instruction timings, for a core with the fast multiplier, memory without waiting,
and SIO on the single-cycle port; they are quoted from memory.
"""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from tests.emulator.harness import CYCLES_PER_US, Scenario, cycles, run
from tests.emulator.rp2040.build import build_bare_program
from tests.emulator.rp2040.consoles import BOARD, CPU_HZ

pytestmark = pytest.mark.emulator

TURNS = 8
PROGRAM = """
#include <stdint.h>
#include "board.h"
uint32_t place[4];
__attribute__((naked)) void board_setup(void)
{{
    __asm__ volatile(".syntax unified\\n\\t{code}");
}}
void board_loop(void)
{{
}}
"""
BEFORE = """push {r4, r5, r6, r7, lr}
ldr r7, =0xD00000D0
ldr r4, =place
ldr r5, =0xD0000000
movs r3, #255
str r3, [r7]
movs r3, #2
str r3, [r7]"""
BEHIND = """movs r3, #0
str r3, [r7]
pop {r4, r5, r6, r7, pc}
.ltorg"""
# instruction, how many cycles the manual gives, by how much the emulator is short
TABLE: Sequence[tuple[str, int, int]] = (
    ("nop", 1, 0),
    ("adds r0, r0, #1", 1, 0),
    ("movs r0, #5", 1, 0),
    ("lsls r0, r0, #3", 1, 0),
    ("uxtb r0, r0", 1, 0),
    ("muls r0, r1, r0", 1, 0),
    ("tst r0, r1", 1, 0),
    ("ldr r0, [r4]", 2, 0),
    ("ldrb r0, [r4]", 2, 0),
    ("str r0, [r4]", 2, 0),
    ("ldr r0, [r5]", 1, 0),
    ("push {r0, r1, r2}\npop {r0, r1, r2}", 8, 0),
    ("b 1f\n1:", 2, 0),
    ("cmp r0, r0\nbne 1f\n1:", 2, 0),
    ("cmp r0, r0\nbeq 1f\n1:", 3, 0),
    ("bl 1f\n1:", 3, 0),
    ("push {r0, lr}\npop {r0, r1}", 6, 1),
    ("bl 1f\nb 2f\n1: push {r0, lr}\npop {r0, pc}\n2:", 13, 2),
)


def counted(code: str) -> float:
    """Return the processor cycles of `TURNS` repetitions, from the mark before to the mark behind."""
    lines = "\n".join([BEFORE, *[code] * TURNS, BEHIND]).splitlines()
    asm = "\\n\\t".join(line.strip() for line in lines)
    image = build_bare_program(PROGRAM.format(code=asm))
    seen = run(Scenario(image.hex, cycles(us=100), board=BOARD, keep_marks=True))
    moments = {value: moment for moment, value in seen.marks}
    assert not seen.problems
    return (moments[0] - moments[2]) / CYCLES_PER_US * CPU_HZ / 1e6


@pytest.mark.parametrize(("code", "manual", "short"), TABLE, ids=[row[0] for row in TABLE])
def test_an_instruction_takes_what_the_manual_says(code: str, manual: int, short: int) -> None:
    """Each takes the cycles of the manual; a push with the link register, and a pop into the program counter, are each
    one cycle short in the emulator: a call of a function that keeps registers comes out two cycles short.
    """
    alone = counted("")
    assert round((counted(code) - alone) / TURNS, 6) == manual - short


def test_a_known_loop_takes_what_the_manual_says() -> None:
    """A hundred passes of a subtraction and a branch take three cycles each, and the last, which leaves, takes two."""
    alone = counted("movs r0, #100")
    looped = counted("movs r0, #100\n1: subs r0, #1\nbne 1b")
    assert round((looped - alone) / TURNS, 6) == 99 * 3 + 2
