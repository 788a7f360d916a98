"""The text of a new job file, from a few answers: complete enough to load and plan, with a comment at every block.

Nothing is measured yet, so every reading says `unknown`.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from retrofit.survey.base import ID_PATTERN, parse_note
from retrofit.survey.instrument import MidiOut
from retrofit.survey.job import FORMAT
from retrofit.survey.make_safe import SafeStep
from retrofit.survey.problems import JobFileError, Problem, ProblemKind, RefusedValueError, shown
from retrofit.survey.schema import SCHEMA_LINE
from retrofit.survey.toml_text import toml_string
from retrofit.survey.wishes import Interface, Sense

LOWEST_KEY = 36
"""C2, the lowest key of a manual or pedalboard that starts at C, as played at 8-foot pitch."""

_COUNTS = {"stops": 512, "pistons": 512, "studs": 512, "shoes": 8}


@dataclass(frozen=True, slots=True)
class NewCompass:
    """How many keys, and the MIDI note of the lowest."""

    count: int
    lowest: int = LOWEST_KEY


@dataclass(frozen=True, slots=True)
class NewJob:
    """The answers.  `manuals` are listed from the lowest keyboard up; `roller_stages` is 0 where there is no roller."""

    name: str
    manuals: tuple[NewCompass, ...] = (NewCompass(61),)
    pedal: NewCompass | None = None
    stops: int = 0
    pistons: int = 0
    studs: int = 0
    shoes: int = 0
    roller_stages: int = 0
    preserved: bool = False
    board: str = "atmega2560"
    midi_out: MidiOut = MidiOut.DIN


def parse_compass(answer: str) -> NewCompass:
    """Return the compass that `61`, `61@36` or `49@C3` describes: the number of keys, and the lowest one.

    Raises `ValueError` with what is allowed.
    """
    count, at, lowest = answer.partition("@")
    allowed = "a number of keys from 1 to 128, with the lowest key where it is not C2: 61, 61@36, 49@C3"
    if not re.fullmatch(r" *[0-9]{1,3} *", count) or not 1 <= int(count) <= 128:
        raise RefusedValueError(ProblemKind.NOT_UNDERSTOOD, shown(answer), allowed)
    return NewCompass(int(count), parse_note(lowest.strip()) if at else LOWEST_KEY)


def new_job_text(answers: NewJob) -> str:
    """Return the text of a job file for `answers`.  Raises `JobFileError` with everything wrong with them."""
    problems = tuple(answer_problems(answers))
    if problems:
        raise JobFileError(problems)
    blocks = (_head(answers), _divisions(answers), *_groups(answers), _TAIL)
    return "\n".join(blocks)


def answer_problems(answers: NewJob) -> Iterator[Problem]:
    """Yield everything that is wrong with the answers."""
    if not 1 <= len(answers.name) <= 400 or any(c == "\0" or "\ud800" <= c <= "\udfff" for c in answers.name):
        yield _problem("name", shown(answers.name), "1 to 400 characters of Unicode text, none of them NUL")
    if len(answers.manuals) > 8:
        yield _problem("manuals", f"{len(answers.manuals)}", "at most 8")
    keyboards = [(f"manual {n}", compass) for n, compass in enumerate(answers.manuals, 1)]
    for key, compass in [*keyboards, *([("pedal", answers.pedal)] if answers.pedal else [])]:
        if compass.count < 1 or compass.lowest < 0 or compass.lowest + compass.count > 128:
            found = f"{compass.count} keys from note {compass.lowest}"
            yield _problem(key, found, "1 to 128 keys within the notes 0 to 127")
    for key, most in _COUNTS.items():
        if not 0 <= getattr(answers, key) <= most:
            yield _problem(key, f"{getattr(answers, key)}", f"0 to {most}")
    if answers.roller_stages != 0 and not 2 <= answers.roller_stages <= 64:
        yield _problem("roller stages", f"{answers.roller_stages}", "0 for none, or 2 to 64")
    if not re.fullmatch(ID_PATTERN, answers.board):
        yield _problem("board", shown(answers.board), "the id of a board, e.g. atmega2560")
    if not answers.manuals and not answers.pedal and not _has_controls(answers):
        yield _problem("manuals", "nothing to convert", "at least one keyboard or control")


def _has_controls(answers: NewJob) -> bool:
    return any((*(getattr(answers, key) for key in _COUNTS), answers.roller_stages))


def _problem(key: str, found: str, allowed: str) -> Problem:
    return Problem(ProblemKind.OUT_OF_RANGE, "answers", None, key, found, allowed)


def _head(answers: NewJob) -> str:
    preserved = "true" if answers.preserved else "false"
    return f"""{SCHEMA_LINE}
# One console, described once: everything else is worked out from this file.
# Write readings as they are called out at the bench: 4k7, 12,4 V, -12, OL, wanders.  What was not read says unknown.

format = {FORMAT}

[instrument]
name = {toml_string(answers.name)}
kind = "unknown"         # electronic, pipe or mixed
maker = "unknown"
number = "unknown"
place = "unknown"
owner = "unknown"
surveyed_by = "unknown"
# Dated notes, here and on every group and point:
# notes = [{{ date = 2026-01-31, initials = "AB", text = "what was seen" }}]

[originals]
preserved = {preserved}    # true: nothing of the original may be cut, moved or fed

[wanted]
board = {toml_string(answers.board)}
midi_out = "{answers.midi_out}"             # din, usb or both, as the board can
isolation_barrier = "unknown"

# Before anybody reaches into an instrument that is still powered.  While a group's owner is organ, the papers for work
# inside it (wiring schedule, connections, putback sheet) are not written until this is complete; a console whose lines
# are all ours is not asked for it.
# Steps: {", ".join(step.value for step in SafeStep)}.
[make_safe]
chassis_to_earth = "unknown"   # joined or apart: the chassis and the earth pin of the mains plug
earth_reading = "unknown"
supply_kind = "unknown"        # isolated or not-isolated: the low-voltage supplies and the mains
ticks = []                     # {{ step = "mains-unplugged", date = 2026-01-31, initials = "AB" }}

# Supplies as found: volts at rest, in ordinary playing and with everything on.
# [[supplies]]
# id = "main"
# volts_rest = "unknown"
# volts_typical = "unknown"
# volts_full = "unknown"
# polarity = "unknown"     # positive or negative: the live pole against the return
# fuse = "unknown"
# chassis = "unknown"      # return, live or neither: the pole that is joined to the chassis
"""


def _keyboards(answers: NewJob) -> list[tuple[str, str, str, NewCompass]]:
    """Return id, name, kind and compass of every keyboard, the pedal last."""
    manuals = [(f"manual-{n}", f"Manual {n}", "manual", compass) for n, compass in enumerate(answers.manuals, 1)]
    pedal = [("pedal", "Pedal", "pedalboard", answers.pedal)] if answers.pedal else []
    return manuals + pedal


def _divisions(answers: NewJob) -> str:
    keyboards = [(name, title) for name, title, _, _ in _keyboards(answers)]
    lines = ["# Divisions: each has a MIDI channel of its own, proposed unless it is given here (channel = 1).", ""]
    controls = [("controls", "Stops, pistons and shoes")] if _has_controls(answers) else []
    for name, title in [*keyboards, *controls]:
        lines += ["[[divisions]]", f'id = "{name}"', f'name = "{title}"', 'progress = "planned"', ""]
    return "\n".join(lines)


def _groups(answers: NewJob) -> Iterator[str]:
    for name, title, kind, compass in _keyboards(answers):
        keys = f"compass = {{ lowest = {compass.lowest}, count = {compass.count} }}"
        yield _group(f"{title}: one point per key", name, title, kind, name, keys)
    if answers.stops:
        yield _listed("stops", "Stops", "stops", "stop", answers.stops, ', footage = ""')
    if answers.pistons:
        yield _listed("pistons", "Pistons", "pistons", "piston", answers.pistons)
    if answers.studs:
        yield _listed("studs", "Toe studs", "toe-studs", "stud", answers.studs)
    if answers.shoes:
        yield _listed("shoes", "Expression shoes", "shoes", "shoe", answers.shoes, ', sensor = "potentiometer"')
    if answers.roller_stages:
        stages = f"stages = {answers.roller_stages}"
        yield _group("Crescendo roller", "roller", "Crescendo roller", "roller", "controls", stages)


def _listed(name: str, title: str, kind: str, word: str, count: int, more: str = "") -> str:
    rows = [f'    {{ id = "{word}-{n}", name = "{word.capitalize()} {n}"{more} }},' for n in range(1, count + 1)]
    points = "\n".join(["points = [", *rows, "]"])
    return _group(f"{title}: one row per point; give them their own names", name, title, kind, "controls", points)


def _group(comment: str, name: str, title: str, kind: str, division: str, body: str) -> str:
    return f"""# {comment}.
[[groups]]
id = "{name}"
name = "{title}"
kind = "{kind}"
division = "{division}"
{body}

[groups.wiring]
owner = "unknown"        # organ or us: whose voltage is on the lines
idle = {{ volts = "unknown", source = "unknown" }}
keyed = {{ volts = "unknown", source = "unknown" }}
contact_resistance = "unknown"
bounce = "unknown"
cable_length = "unknown"
{_WISHES if kind in _OF_CONTACTS else ""}"""


_OF_CONTACTS = ("manual", "pedalboard", "stops", "pistons", "toe-studs")
_WISHES = f"""
# What is wanted where the proposal does not suit; without the leading # it holds:
# [groups.wanted]
# interface = "chain"        # {", ".join(Interface)}
# sense = "unknown"          # {", ".join(Sense)}
# keyed_reads_high = true    # the level at the input while keyed, where the circuit does not settle it
"""

_TAIL = """# Points that are one and the same electrical line are said once, the wired one first:
# [[same_lines]]
# points = ["pistons.piston-1", "studs.stud-1"]
"""
