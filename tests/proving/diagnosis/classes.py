"""Which faults of a small console no permitted test tells apart, by trying every fault and every test.

    python -m tests.proving.diagnosis.classes

The permitted tests are the idle picture, every single press, and in a matrix the three keys that
test each diode.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from itertools import combinations

from retrofit.rehearsal.standin.faults.grammar import parse_fault
from retrofit.rehearsal.standin.faults.kind import Fault
from tests.proving.diagnosis.consoles import Console, console, keys
from tests.proving.diagnosis.injected import Signature, heard_with, names_of, signature

PLAIN = (
    "dead contact {}",
    "stuck contact {}",
    "cut wire {}",
    "ground wire {}",
    "stuck input {} low",
    "stuck input {} high",
)
CROSSED = ("dead contact {}", "stuck contact {}", "short diode {}", "reverse diode {}", "open diode {}")
PINS = ("cut wire {}", "ground wire {}")


def small(interface: str) -> Console:
    """Return a console of nine keys."""
    diodes = "schottky" if interface == "matrix" else ""
    wanted = ", matrix_columns = 3" if interface == "matrix" else ""
    return console(interface, keys("great", 36, 9, interface, diodes, wanted))


def every_fault(found: Console) -> Iterator[Fault]:
    """Yield every fault of a contact, of its diode, of a wire, of two neighbouring wires, and of a plug."""
    contacts = found.rig.group("great")
    matrix = not isinstance(contacts[0].bus, str)
    wires = sorted({pin for c in contacts for pin in (c.line, c.bus) if not isinstance(pin, str)})
    lines = [form.format(c.point) for c in contacts for form in (CROSSED if matrix else PLAIN)]
    if matrix:
        lines += [form.format(wire) for wire in wires for form in PINS]
    pairs = [(a, b) for a, b in combinations(wires, 2) if a.connector == b.connector]
    lines += [f"swap wires {a} and {b}" for a, b in pairs]
    lines += [f"join {a} and {b}" for a, b in pairs if b.number == a.number + 1]
    plugs = sorted({wire.connector for wire in wires})
    lines += [f"turn connector {plug}" for plug in plugs]
    lines += [f"shift connector {plug} {way}" for plug in plugs for way in ("up", "down")]
    names = names_of(found)
    yield from (parse_fault(line, names) for line in lines)


def classes(found: Console) -> list[list[str]]:
    """Return the faults that let every test hear the same, class by class, the largest first."""
    alike: dict[Signature, list[str]] = {}
    for fault in every_fault(found):
        alike.setdefault(signature(found, heard_with(found, (fault,))), []).append(fault.words)
    return sorted(alike.values(), key=lambda words: (-len(words), words))


def main() -> int:
    """Print the classes of two small consoles."""
    for interface in ("chain", "matrix"):
        found = classes(small(interface))
        sys.stdout.write(f"{interface}: {sum(map(len, found))} faults in {len(found)} classes\n")
        sys.stdout.writelines(f"  {len(words)}: {', '.join(words)}\n" for words in found if len(words) > 1)
    return 0


if __name__ == "__main__":
    sys.exit(main())
