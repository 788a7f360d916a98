"""`retrofit chords`: what to hold on a diode matrix, which ghost to listen for, and which diode it accuses."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator, Sequence
from math import isfinite
from pathlib import Path

import click

from retrofit.catalogue.load import load_catalogue
from retrofit.circuits.quantity import quantity
from retrofit.cli.arguments import job_file
from retrofit.cli.jobs import open_job
from retrofit.cli.names import known_name
from retrofit.cli.output import Exit, Stop, counted, data, raw_data, talk
from retrofit.cli.pairs_page import show_pairs
from retrofit.cli.plans import planned
from retrofit.cli.terminal import columns, folded, shown
from retrofit.midi.names import note_name
from retrofit.plan.matrix_chords import GroupChords, NoChordsError, group_chords
from retrofit.plan.matrix_pairs import group_pairs, rows_are_driven
from retrofit.scan.matrix_faults.chords import Chord
from retrofit.scan.matrix_faults.crossings import Crossing
from retrofit.scan.matrix_faults.effects import FaultEffect, fault_effects
from retrofit.scan.matrix_faults.ghosts import suspects
from retrofit.scan.matrix_faults.levels import GhostLevel, Sight
from retrofit.scan.matrix_faults.search import Progress
from retrofit.scan.matrix_faults.three_keys import ThreeKeyTest
from retrofit.survey.contacts import KeyGroup

LIGHTS = {Sight.SURE: "[+]", Sight.NOT_SURE: "[x]", Sight.UNKNOWN: "[?]"}
"""Each answer has a sign of its own beside its word, so that no colour is needed."""


@click.command()
@job_file
@click.argument("group", metavar="GROUP")
@click.option("--rings", is_flag=True, help="Rings of eight for weights instead of two hands; so for all but manuals.")
@click.option("--json", "as_json", is_flag=True, help="Write JSON for other programs.")
def command(file: Path, group: str, rings: bool, as_json: bool) -> None:
    """Show chords that find a shorted, bridged or reversed diode of a matrix, and say which one.

    Single keys cannot show such a diode: they play as they should.  Hold each chord and listen for what nobody holds.
    Where rows are driven there are no ghosts: hold each pair and listen for what drops out.
    """
    job = open_job(file)
    groups = {found.id: found for found in job.groups}
    asked = groups[known_name("group", group, list(groups))]
    rings = rings or asked.kind != "manual"
    plan = planned(job)
    if rows_are_driven(plan, asked.id):
        show_pairs(group_pairs(plan, asked.id), notes=isinstance(asked, KeyGroup), as_json=as_json)
        return
    try:
        found = group_chords(plan, load_catalogue(), asked.id, rings=rings, watch=_say_progress)
    except NoChordsError as error:
        raise Stop(Exit.PROBLEMS, f"{file} {error}") from error
    page = _Page(found, isinstance(asked, KeyGroup))
    if as_json:
        raw_data(json.dumps(page.content(), indent=1, ensure_ascii=True) + "\n")
    else:
        for line in page.lines():
            data(line)
    tests = found.tests
    talk(f"{counted(len(tests.chords), 'chord')} for {len(tests.located)} of {len(tests.matrix.keys)} diodes")


def _say_progress(progress: Progress) -> bool:
    if sys.stderr.isatty():
        done = progress.located == progress.wanted
        text = "" if done else f"{progress.chords} chords: {progress.located} of {progress.wanted} diodes"
        click.echo(f"\r{text}\x1b[K\r", err=True, nl=False)
    return True


class _Page:
    """The chords of one group in words; `notes` tells whether its numbers are notes."""

    def __init__(self, found: GroupChords, notes: bool) -> None:
        self._found, self._tests, self._notes = found, found.tests, notes

    def lines(self) -> Iterator[str]:
        """Yield the page, in lines that fit the terminal."""
        yield from self._heading()
        for number, chord in enumerate(self._tests.chords, 1):
            yield ""
            yield from self._chord(number, chord)
        yield from self._rest()

    def _heading(self) -> Iterator[str]:
        matrix, tests = self._tests.matrix, self._tests
        keys = counted(len(matrix.keys), "key" if self._notes else "contact")
        yield from folded(
            f"{self._found.group}: {keys} on {counted(matrix.rows, 'row')} and {counted(matrix.columns, 'column')}; "
            f"{counted(len(tests.chords), 'chord')} find each of {counted(len(tests.located), 'diode')} and say which"
        )
        yield from folded(
            "First press each one alone: one that stays silent has an open or reversed diode, or a dead contact. "
            "Then hold each chord and listen for more than is held."
        )
        for level in self._found.levels:
            yield from folded(_level_words(level), "  ", "      ")
        if self._found.closed_at_rest:
            yield from folded(f"put right first, closed at rest: {', '.join(self._found.closed_at_rest)}")
        if self._found.not_played:
            yield from folded(f"left out, cannot be closed: {', '.join(self._found.not_played)}")

    def _chord(self, number: int, chord: Chord) -> Iterator[str]:
        yield f"chord {number} of {len(self._tests.chords)}"
        for label, keys in _hands(chord):
            yield from folded(", ".join(map(self._name, keys)), f"  {label:<7}", " " * 9)
        rows = [
            (", ".join(map(self._place, pattern)), " or ".join(map(self._name, keys)) + self._doubt(number, keys))
            for pattern, keys in suspects(self._tests.matrix, chord.keys).items()
        ]
        for line in columns([("heard as well", "accuses the diode of"), *rows]):
            yield f"    {line}"

    def _doubt(self, number: int, keys: Sequence[int]) -> str:
        """Return which other chords tell several suspects apart."""
        if len(keys) < 2:
            return ""
        others = (
            str(place)
            for place, chord in enumerate(self._tests.chords, 1)
            if place != number and set(keys) & set(chord.keys)
        )
        return f" (see chord {', '.join(others)})"

    def _rest(self) -> Iterator[str]:
        tests = self._tests
        if tests.by_three_keys:
            yield ""
            yield "three keys each, for the diodes that no chord above tells:"
            yield from (f"  {line}" for test in tests.by_three_keys for line in folded(self._three(test)))
        for keys, words in (
            (tests.without_ghost, "no chord can show a short of its diode, nor can any playing: it does no harm"),
            (tests.unheard, "a short would only make crossings read that send nothing"),
        ):
            if keys:
                yield ""
                yield from folded(f"{', '.join(map(self._name, keys))}: {words}")

    def _three(self, test: ThreeKeyTest) -> str:
        held = ", ".join(map(self._name, test.chord.keys))
        return f"hold {held}: {self._place(test.ghost)} accuses the diode of {self._name(test.key)}"

    def _name(self, key: int) -> str:
        return f"{note_name(key)} {key}" if self._notes else f"{shown(self._found.names[key])} ({key})"

    def _place(self, crossing: Crossing) -> str:
        """Return the name of the key at a crossing that is heard, and so has one."""
        return self._name(self._at[crossing])

    @property
    def _at(self) -> dict[Crossing, int]:
        return self._found.key_at

    def content(self) -> dict[str, object]:
        """Return the page for other programs.  Keys are only ever added."""
        tests = self._tests
        return {
            "group": self._found.group,
            "keys": {str(key): str(address) for key, address in sorted(self._found.crossings.items())},
            "levels": [_level_content(level) for level in self._found.levels],
            "chords": [self._chord_content(chord) for chord in tests.chords],
            "located": sorted(tests.located),
            "faults": [self._effect_content(effect) for effect in fault_effects(tests.matrix)],
            "by_three_keys": [
                {"diode": test.key, "keys": list(test.chord.keys), "heard": self._at[test.ghost]}
                for test in tests.by_three_keys
            ],
            "without_ghost": list(tests.without_ghost),
            "unheard": list(tests.unheard),
            "not_played": list(self._found.not_played),
            "closed_at_rest": list(self._found.closed_at_rest),
        }

    def _effect_content(self, effect: FaultEffect) -> dict[str, object]:
        test = effect.test
        return {
            "diode": effect.key,
            "fault": effect.fault.value,
            "reads_alone": effect.reads_alone,
            "harmless": effect.harmless,
            "hold": [] if test is None else list(test.chord.keys),
            "heard": None if test is None else self._at[test.ghost],
            "ghost_drops": effect.ghost_drops,
        }

    def _chord_content(self, chord: Chord) -> dict[str, object]:
        ghosts = suspects(self._tests.matrix, chord.keys)
        hands = {} if chord.left_keys is None else {"left": list(chord.left), "right": list(chord.right)}
        return {
            "keys": list(chord.keys),
            **hands,
            "ghosts": [
                {"heard": [self._at[crossing] for crossing in pattern], "diodes": list(keys)}
                for pattern, keys in ghosts.items()
            ],
        }


def _hands(chord: Chord) -> tuple[tuple[str, tuple[int, ...]], ...]:
    if chord.left_keys is None:
        return (("hold", chord.keys),)
    return ("left", chord.left), ("right", chord.right)


def _level_words(level: GhostLevel) -> str:
    light = f"{LIGHTS[level.sight]} ghost of a {level.fault} diode:"
    if level.result is None:
        return f"{light} nobody knows {level.missing}"
    limit = quantity(level.result.limit, level.result.unit)
    figures = f"{level.result.figure}, read for certain up to {limit} ({level.result.corner})"
    match level.sight:
        case Sight.SURE:
            return f"{light} always read: {figures}"
        case Sight.UNKNOWN:
            return f"{light} read while no contact on its way has more than {level.contact_ohms_max:.0f} Ω: {figures}"
        case Sight.NOT_SURE if level.result.passes:
            return f"{light} not sure: contacts on its way may have {level.contact_ohms_max:.0f} Ω at most: {figures}"
        case _:
            return f"{light} not sure: one that is heard is proof, silence is none: {figures}"


def _level_content(level: GhostLevel) -> dict[str, object]:
    result, ohms = level.result, level.contact_ohms_max
    return {
        "fault": level.fault.value,
        "sight": level.sight.value,
        "volts": None if result is None else _figures(result.value),
        "limit_volts": None if result is None else _figures(result.limit),
        "contact_ohms_max": None if ohms is None or not isfinite(ohms) else _figures(ohms),
        "missing": level.missing,
    }


def _figures(value: float) -> float:
    """Return a value with six significant figures, so that the text does not depend on how a processor rounds."""
    return float(f"{value:.6g}")
