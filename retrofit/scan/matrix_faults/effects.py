"""What each fault of a diode does at its address: pressed alone, and in the three keys that give it away."""

from __future__ import annotations

from dataclasses import dataclass

from retrofit.scan.matrix_faults.crossings import KeyMatrix
from retrofit.scan.matrix_faults.network import GHOST_DROPS, DiodeFault
from retrofit.scan.matrix_faults.three_keys import ThreeKeyTest, makes_no_ghost, three_key_test


@dataclass(frozen=True, slots=True)
class FaultEffect:
    """One fault of one key's diode.

    `reads_alone` tells whether the key still reads when pressed alone.  `test` shows the fault by a ghost whose way has
    `ghost_drops` diode drops; both are None where no ghost is heard, and `harmless` is True where none is made at all
    and the key reads.
    """

    key: int
    fault: DiodeFault
    reads_alone: bool
    ghost_drops: int | None
    test: ThreeKeyTest | None
    harmless: bool


def fault_effect(matrix: KeyMatrix, key: int, fault: DiodeFault) -> FaultEffect:
    """Return what one fault of one key's diode does."""
    alone = fault is DiodeFault.SHORTED
    test = three_key_test(matrix, key) if fault in GHOST_DROPS else None
    return FaultEffect(
        key=key,
        fault=fault,
        reads_alone=alone,
        ghost_drops=GHOST_DROPS[fault] if test else None,
        test=test,
        harmless=alone and makes_no_ghost(matrix, key),
    )


def fault_effects(matrix: KeyMatrix) -> tuple[FaultEffect, ...]:
    """Return every fault of every key's diode, key by key."""
    return tuple(fault_effect(matrix, key, fault) for key in sorted(matrix.keys) for fault in DiodeFault)
