"""How well a supposed console agrees with what was heard: the cost of all that it leaves unexplained."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from retrofit.proving.diagnosis.align import Alignment, Heard, align
from retrofit.proving.diagnosis.hearing import Hearing
from retrofit.proving.diagnosis.rig import Rig
from retrofit.proving.evidence import GroupEvidence, Stroke

ASKED_WRONG = 12.0
"""A press asked for by name that let hear something else."""
ASKED_SILENT = 5.2
"""A press asked for by name that let hear nothing: the key may have been touched too lightly, once."""
ASKED_BRUSHED = 5.0
"""A press asked for by name that let a neighbour hear too."""
ASKED_HALF = 9.0
IDLE_WRONG = 11.5
CHORD_WRONG = 6.5
"""A chord that lets hear something else; a finger beside the key may bring several ghosts at once."""
CHORD_MORE = 1.0
"""Each thing that it gets wrong, up to `CHORD_MOST`."""
CHORD_MOST = 6
CHORD_FAINT = 3.0
"""A ghost that was not heard although current could have come through several diodes: it may be too weak to be read."""
_FAR = 1e9


@dataclass(frozen=True)
class Material:
    """What was heard of a group, ready to be compared: sets of names in order.

    `aligned` keeps how the run lies beside what was expected of it: many suppositions expect the same.
    """

    group: str
    points: tuple[str, ...]
    excused: frozenset[str]
    run: tuple[Heard, ...]
    asked: tuple[tuple[str, Heard], ...]
    idle: Heard
    chords: tuple[tuple[frozenset[str], Heard], ...]
    aligned: dict[tuple[Heard, ...], Alignment] = field(default_factory=dict, compare=False, repr=False)


def material(rig: Rig, evidence: GroupEvidence) -> Material:
    """Return a group's evidence ready to be compared."""
    labelled = [stroke for stroke in (*evidence.asked, *evidence.run) if stroke.asked in rig.contacts]
    return Material(
        group=evidence.group,
        points=tuple(contact.point for contact in rig.group(evidence.group)),
        excused=evidence.excused,
        run=tuple(_names(stroke) for stroke in evidence.run if stroke.asked is None and stroke.heard),
        asked=tuple((stroke.asked or "", _names(stroke)) for stroke in labelled),
        idle=evidence.idle,
        chords=tuple((chord.pressed, chord.heard) for chord in evidence.chords),
    )


def _names(stroke: Stroke) -> Heard:
    return frozenset(heard.point for heard in stroke.heard)


@dataclass
class Fit:
    """A supposed console beside one group's material: the whole cost, and all that disagrees.

    `wrong` are contacts with what their presses let hear instead, `silent` those that were asked for in vain, `missing`
    those that the run did not let hear.  `strays` are presses of the run that belong to none.
    """

    cost: float = 0.0
    alignment: Alignment | None = None
    wrong: list[tuple[str, Heard]] = field(default_factory=list)
    silent: list[str] = field(default_factory=list)
    missing: list[str] = field(default_factory=list)
    strays: list[Heard] = field(default_factory=list)
    idle_more: Heard = frozenset()
    idle_less: Heard = frozenset()
    chords: list[tuple[frozenset[str], Heard, Heard]] = field(default_factory=list)
    agreeing: int = 0
    compared: int = 0


def compare(hearing: Hearing, found: Material, most: float = _FAR) -> Fit | None:
    """Return how a supposed console agrees with a group's material, or None when it costs more than `most`."""
    fit = Fit()
    _compare_idle(hearing, found, fit)
    if fit.cost > most or not _compare_asked(hearing, found, fit, most):
        return None
    expected = tuple(hearing.press(point) for point in found.points)
    alignment = found.aligned.get(expected) or align(expected, found.run)
    found.aligned[expected] = alignment
    _note_run(found, expected, alignment, fit)
    return fit if _compare_chords(hearing, found, fit, most) else None


def _compare_idle(hearing: Hearing, found: Material, fit: Fit) -> None:
    expected = hearing.idle()
    fit.idle_more = found.idle - expected - found.excused
    fit.idle_less = expected - found.idle - found.excused
    fit.cost += IDLE_WRONG * (len(fit.idle_more) + len(fit.idle_less))
    fit.compared += len(found.idle | expected)
    fit.agreeing += len(found.idle & expected)


def _compare_asked(hearing: Hearing, found: Material, fit: Fit, most: float) -> bool:
    """Compare the presses asked for by name; return False, without having seen all, when they cost too much."""
    places = {point: i for i, point in enumerate(found.points)}
    for point, heard in found.asked:
        if point in found.excused and not heard:
            continue
        expected = hearing.press(point)
        fit.compared += 1
        if expected == heard:
            fit.agreeing += 1
            continue
        i = places.get(point, -2)
        beside = [found.points[j] for j in (i - 1, i + 1) if 0 <= j < len(found.points)]
        fit.cost += _asked_cost(expected, heard, [hearing.press(neighbour) for neighbour in beside])
        if fit.cost > most:
            return False
        if heard:
            fit.wrong.append((point, heard))
        else:
            fit.silent.append(point)
    return True


def _asked_cost(expected: Heard, heard: Heard, beside: Sequence[Heard]) -> float:
    if not heard:
        return ASKED_SILENT
    if expected < heard and any(heard - expected <= neighbour for neighbour in beside):
        return ASKED_BRUSHED
    return ASKED_HALF if expected & heard else ASKED_WRONG


def _compare_chords(hearing: Hearing, found: Material, fit: Fit, most: float) -> bool:
    """Compare the chords; return False, without having seen all, when they cost too much."""
    for pressed, heard in found.chords:
        certain, possible = hearing.on(pressed, drops=1), hearing.on(pressed)
        more, less = heard - (certain | possible) - found.excused, (certain & possible) - heard
        faint = (possible ^ heard) & (possible ^ certain)
        fit.cost += _chord_cost(len(more | less)) + CHORD_FAINT * min(len(faint), 3)
        if fit.cost > most:
            return False
        fit.compared += len(heard | certain)
        fit.agreeing += len(heard & possible)
        if more or less:
            fit.chords.append((pressed, more, less))
    return True


def _chord_cost(wrong: int) -> float:
    return CHORD_WRONG + CHORD_MORE * min(wrong, CHORD_MOST) if wrong else 0.0


def _note_run(found: Material, expected: Sequence[Heard], alignment: Alignment, fit: Fit) -> None:
    fit.cost += alignment.cost
    fit.alignment = alignment
    for i, j in enumerate(alignment.answers):
        point = found.points[i]
        if j is None:
            if expected[i] and point not in found.excused:
                fit.missing.append(point)
            continue
        fit.compared += 1
        if found.run[j] == expected[i]:
            fit.agreeing += 1
        else:
            fit.wrong.append((point, found.run[j]))
    for j in alignment.strays:
        if not (j and found.run[j] & found.run[j - 1]):
            fit.strays.append(found.run[j])
            fit.compared += 1
