"""The fault campaign: faults in a netlist, a clumsy person at the keys, and whether the diagnosis names them.

    python -m tests.proving.diagnosis.campaign --cases 1000 --faults 1

An answer is right when its causes, translated into faults of the wiring and done to a sound console, let every
permitted test hear just what the injected faults do, with no more causes than faults: what no test tells apart is one
class.  Injector and diagnosis share no code.
"""

from __future__ import annotations

import argparse
import secrets
import sys
import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from random import Random

from retrofit.proving.diagnosis.causes import Cause
from retrofit.proving.diagnosis.diagnose import Diagnosis, diagnose
from retrofit.rehearsal.standin.faults.kind import Fault
from tests.proving.diagnosis.consoles import Console, random_console
from tests.proving.diagnosis.injected import draw_fault, heard_with, signature, translated
from tests.proving.diagnosis.person import Habits, Person, first_evidence

ROUNDS = 12
"""Times that a person is asked for further presses."""


@dataclass(frozen=True)
class Case:
    """One console with faults, what was said of it, and whether that is right."""

    console: Console
    faults: tuple[Fault, ...]
    causes: tuple[Cause, ...]
    right: bool
    silent: bool
    settled: bool
    asked: int
    slowest_ms: float

    @property
    def injected(self) -> str:
        """The kinds that were injected."""
        return " + ".join(sorted(fault.kind for fault in self.faults)) or "sound"

    @property
    def answered(self) -> str:
        """The kinds that were named."""
        return " + ".join(sorted(cause.kind for cause in self.causes)) or "nothing wrong"


def conversation(console: Console, person: Person) -> tuple[Diagnosis, int, float]:
    """Let a person play and answer until nothing is asked for; return the diagnosis, the presses asked, the time."""
    evidence = first_evidence(person, "great", console.chords)
    slowest = 0.0
    for _ in range(ROUNDS):
        begun = time.process_time()
        found = diagnose(console.rig, (evidence,))
        slowest = max(slowest, 1e3 * (time.process_time() - begun))
        if not found.ask and not found.hold:
            break
        evidence = replace(
            evidence,
            asked=(*evidence.asked, *map(person.asked, found.ask)),
            chords=(*evidence.chords, *map(person.chord, found.hold)),
        )
    return found, len(evidence.asked), slowest


def run_case(console: Console, faults: Sequence[Fault], random: Random, habits: Habits | None = None) -> Case:
    """Return what becomes of a console with faults."""
    heard = heard_with(console, faults)
    keys = [contact.point for contact in console.rig.group("great")]
    found, asked, slowest = conversation(console, Person(heard, keys, random, habits or Habits()))
    truth = signature(console, heard)
    answer = translated(console, found.causes)
    right = answer is not None and len(answer) <= len(faults)
    right = right and signature(console, heard_with(console, answer or ())) == truth
    silent = truth == signature(console, heard_with(console, ()))
    return Case(console, tuple(faults), found.causes, right, silent, found.settled, asked, slowest)


def random_case(seed: str, fault_count: int, console: Console | None = None) -> Case:
    """Return the case of a seed, of a random console where none is given."""
    random = Random(seed)
    console = console or random_console(random)
    return run_case(console, [draw_fault(console, random) for _ in range(fault_count)], random)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run a campaign and print its confusion table."""
    parser = argparse.ArgumentParser(description="the fault campaign")
    parser.add_argument("--cases", type=int, default=200)
    parser.add_argument("--faults", type=int, default=1)
    parser.add_argument("--seed", default=None)
    parser.add_argument("--show", type=int, default=10, help="wrong answers to print")
    options = parser.parse_args(arguments)
    seed = options.seed or secrets.token_hex(4)
    say(f"seed {seed}, {options.cases} cases of {options.faults} faults")
    cases = []
    for number in range(options.cases):
        case = random_case(f"{seed}-{options.faults}-{number}", options.faults)
        cases.append(case)
        if not case.right and sum(not c.right for c in cases) <= options.show:
            _print_case(number, case)
    _print_table(cases)
    return 0


def say(line: str) -> None:
    """Print a line at once."""
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


def _print_case(number: int, case: Case) -> None:
    say(f"  case {number} {case.console.words}: {', '.join(f.words for f in case.faults) or 'sound'}")
    say(f"    named: {', '.join(f'{c.kind} {c.parts}' for c in case.causes) or 'nothing'}")


def _print_table(cases: Sequence[Case]) -> None:
    table = Counter((case.injected, case.answered, case.right) for case in cases)
    for (injected, answered, right), count in sorted(table.items()):
        say(f"{count:6d}  {injected:40} {'=' if right else '≠'} {answered}")
    rights = sum(case.right for case in cases)
    unheard = sum(case.silent for case in cases)
    asked = sum(case.asked for case in cases) / len(cases)
    unsettled = sum(not case.right and not case.settled for case in cases)
    say(f"of {len(cases) - rights} wrong answers {unsettled} say themselves that they are not settled")
    slow = sorted(case.slowest_ms for case in cases)
    say(f"right {rights} of {len(cases)} ({100 * rights / len(cases):.2f} %), {unheard} that no test shows")
    say(f"presses asked for: {asked:.1f} a case")
    say(f"slowest diagnosis of a case: median {slow[len(slow) // 2]:.1f} ms, most {slow[-1]:.1f} ms")


if __name__ == "__main__":
    sys.exit(main())
