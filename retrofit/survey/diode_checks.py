"""Diode readings against the keys of their group."""

from __future__ import annotations

from collections.abc import Iterator

from retrofit.survey.contacts import ContactGroup, Group, KeyGroup, RollerGroup, ShoeGroup
from retrofit.survey.faults import Fault
from retrofit.survey.points import key_contacts
from retrofit.survey.problems import ProblemKind
from retrofit.survey.toml_lines import Path

MOST_KEYS = 128
"""More keys than one diode board has; the time to recognise an irregular one grows faster than its keys."""


def diode_keys(group: Group) -> tuple[int, ...]:
    """Return what a diode reading of this group may name: its notes, or its contacts' numbers from 1; shoes none."""
    match group:
        case KeyGroup():
            return tuple(sorted(note for note in key_contacts(group) if note >= 0))
        case ContactGroup():
            return tuple(range(1, len(group.points) + 1))
        case RollerGroup():
            return tuple(range(1, group.stages + 1))
        case ShoeGroup():
            return ()


def diode_faults(path: Path, group: Group) -> Iterator[Fault]:
    """Yield every diode reading of a key that its group has not, and the one fault of a group too large for a board."""
    tests, keys = group.wiring.diode_readings, diode_keys(group)
    place = (*path, "wiring", "diode_readings")
    if tests and len(keys) > MOST_KEYS:
        remedy = "give the contacts of each board a group of their own"
        found = f"diode readings of a group with {len(keys)} contacts"
        yield Fault(ProblemKind.BEYOND_CONTACTS, place, found, f"at most {MOST_KEYS} contacts on a board", remedy)
    for position, test in enumerate(tests):
        if test.key not in keys:
            yield Fault(
                ProblemKind.NO_SUCH_KEY, (*place, position, "key"), f"key {test.key}", _allowed(group, keys), _REMEDY
            )


_REMEDY = "correct the key; keys go by their note, other contacts by their number in the group"


def _allowed(group: Group, keys: tuple[int, ...]) -> str:
    if not keys:
        return "no diode readings on shoes"
    what = "notes" if isinstance(group, KeyGroup) else "contacts"
    gaps = "" if len(keys) == keys[-1] - keys[0] + 1 else ", with gaps"
    return f"{what} {keys[0]} to {keys[-1]}{gaps}"
