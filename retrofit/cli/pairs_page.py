"""The bench page of a matrix whose rows are driven: pairs of keys, and which diode a silent one accuses."""

from __future__ import annotations

import json
from collections.abc import Iterator

from retrofit.cli.output import counted, data, raw_data, talk
from retrofit.cli.terminal import columns, folded, shown
from retrofit.midi.names import note_name
from retrofit.plan.matrix_pairs import GroupPairs


def show_pairs(found: GroupPairs, *, notes: bool, as_json: bool) -> None:
    """Write the pair tests of a group; `notes` tells whether its numbers are notes."""
    if as_json:
        raw_data(json.dumps(_content(found), indent=1, ensure_ascii=True) + "\n")
    else:
        for line in _lines(found, notes):
            data(line)
    tests = found.tests
    swept = {key for pair in tests.pairs for key in pair.keys}
    talk(f"{counted(len(tests.pairs), 'pair')} for {len(swept)} of {len(tests.matrix.keys)} diodes")


def _lines(found: GroupPairs, notes: bool) -> Iterator[str]:
    matrix, tests = found.tests.matrix, found.tests
    keys = counted(len(matrix.keys), "key" if notes else "contact")
    yield from folded(
        f"{found.group}: {keys} on {counted(matrix.rows, 'row')} and {counted(matrix.columns, 'column')}, rows driven; "
        f"{counted(len(tests.pairs), 'pair')} find each faulty diode and say which"
    )
    yield from folded(
        "First press each one alone: one that stays silent has an open or reversed diode, or a dead contact. Then hold "
        "each pair and nothing else: both must sound and go on sounding. One that drops out or flickers accuses the "
        "diode of the other. A fight leaves its column between the levels, so that one that sounds is no proof: read "
        "its volts."
    )
    if found.not_played:
        yield from folded(f"left out, cannot be closed: {', '.join(found.not_played)}")
    yield ""
    rows = [(_name(found, one, notes), _name(found, other, notes)) for one, other in (p.keys for p in tests.pairs)]
    yield from columns([("hold", "and with it"), *rows])
    if tests.alone:
        yield ""
        names = ", ".join(_name(found, key, notes) for key in tests.alone)
        yield from folded(f"{names}: alone in the column, where a short of the diode does no harm")


def _name(found: GroupPairs, key: int, notes: bool) -> str:
    return f"{note_name(key)} {key}" if notes else f"{shown(found.names[key])} ({key})"


def _content(found: GroupPairs) -> dict[str, object]:
    """Return the page for other programs.  Keys are only ever added."""
    return {
        "group": found.group,
        "keys": {str(key): str(address) for key, address in sorted(found.crossings.items())},
        "rows": "push-pull",
        "pairs": [list(pair.keys) for pair in found.tests.pairs],
        "alone": list(found.tests.alone),
        "not_played": list(found.not_played),
    }
