"""How long a diagnosis of 61 keys takes, by fault and by way of reading.

python -m tests.proving.diagnosis.bench
"""

from __future__ import annotations

import sys
import time
from dataclasses import dataclass, replace
from random import Random

from retrofit.proving.diagnosis.diagnose import diagnose
from retrofit.proving.evidence import GroupEvidence
from retrofit.rehearsal.standin.faults.grammar import parse_fault
from tests.proving.diagnosis.consoles import Console, console, keys
from tests.proving.diagnosis.injected import heard_with, names_of
from tests.proving.diagnosis.person import Habits, Person, first_evidence

TIMES = 5
CHAIN = (
    (),
    ("dead contact great.50",),
    ("turn connector J3",),
    ("swap wires great.50 and great.71",),
    ("shift wires great from great.60 up",),
    ("lost clock at register 4",),
    ("set channel great 5",),
    ("reverse polarity great",),
    ("turn connector J3", "stuck contact great.70"),
    ("lost clock at register 2", "join J4.4 and J4.5"),
)
MATRIX = (
    (),
    ("dead contact great.50",),
    ("join J1.4 and J1.5",),
    ("short diode great.50",),
    ("reverse diodes great",),
    ("turn connector J2",),
    ("bridge diodes great", "set channel great 5"),
)


@dataclass(frozen=True, slots=True)
class Figure:
    """What the diagnoses of one console cost: the first, after the run, and the one that settled it."""

    words: str
    faults: tuple[str, ...]
    first_ms: float
    last_ms: float
    named: int


def consoles() -> tuple[tuple[Console, tuple[tuple[str, ...], ...]], ...]:
    """Return 61 keys on a chain and on a matrix, with the faults that are put in."""
    chain = console("chain", keys("great", 36, 61, "chain"))
    matrix = console("matrix", keys("great", 36, 61, "matrix", "schottky", ", matrix_columns = 8"))
    return (chain, CHAIN), (matrix, MATRIX)


def measure(found: Console, words: tuple[str, ...], times: int) -> Figure:
    """Return the figure of one console with faults: the best of several times, so that other work counts little."""
    faults = [parse_fault(one, names_of(found)) for one in words]
    person = Person(heard_with(found, faults), [c.point for c in found.rig.group("great")], Random(1), Habits())
    first = first_evidence(person, "great", found.chords)
    answers = replace(first, asked=tuple(map(person.asked, diagnose(found.rig, (first,)).ask)))
    named = len(diagnose(found.rig, (answers,)).causes)
    return Figure(found.words, words, _best_ms(found, first, times), _best_ms(found, answers, times), named)


def _best_ms(found: Console, evidence: GroupEvidence, times: int) -> float:
    return min(_once_ms(found, evidence) for _ in range(times))


def _once_ms(found: Console, evidence: GroupEvidence) -> float:
    found.rig.remembered.clear()
    begun = time.process_time()
    diagnose(found.rig, (evidence,))
    return 1e3 * (time.process_time() - begun)


def main() -> int:
    """Print the figures."""
    for found, faults in consoles():
        for words in faults:
            figure = measure(found, words, TIMES)
            said = " + ".join(words) or "sound"
            sys.stdout.write(
                f"{figure.words:8}{said:60}first {figure.first_ms:7.1f} ms, last {figure.last_ms:7.1f} ms,"
                f" {figure.named} named\n"
            )
    return 0


if __name__ == "__main__":
    sys.exit(main())
