"""Rules about how lines are read: drive of matrices, and keyboards that the organ scans by itself."""

from __future__ import annotations

from collections.abc import Iterator

from retrofit.circuits.sense.design import Judged, SenseDesign, Verdict
from retrofit.circuits.sense.strobe_window import WINDOW
from retrofit.plan.facts import Facts
from retrofit.plan.listening import listened_groups, missing_readings
from retrofit.plan.matrix_scan import has_diodes
from retrofit.plan.model import Severity
from retrofit.plan.rules.rule import Rule, Said
from retrofit.scan.layout import Source
from retrofit.survey.wiring import Owner
from retrofit.survey.wishes import Interface, MatrixDrive


def _drive_refused(facts: Facts) -> Iterator[Said]:
    for group in facts.job.groups:
        on_matrix = facts.interface_of(group.id) is Interface.MATRIX
        wished = on_matrix and group.wanted.matrix_drive is MatrixDrive.PUSH_PULL
        if wished and not has_diodes(group):
            yield Said(
                f"groups.{group.id}.wanted.matrix_drive",
                f"rows are to be driven against each other, the diodes of the keys being {group.wiring.diodes.value!r}",
                "a diode known to stand at each key: without it two held keys of a column join two drivers",
                "let the rows float, or read what stands at the keys and say it under wiring.diodes",
            )


def _drive_mixed(facts: Facts) -> Iterator[Said]:
    drives = {str(matrix.number): matrix.drive for matrix in facts.layout.matrices}
    where = {lane.group: lane.where for lane in facts.layout.lanes if lane.source is Source.MATRIX}
    for group in facts.job.groups:
        wished = group.wanted.matrix_drive is MatrixDrive.PUSH_PULL and has_diodes(group)
        if wished and group.id in where and drives[where[group.id]] is MatrixDrive.FLOATING:
            yield Said(
                f"groups.{group.id}.wanted.matrix_drive",
                f"it is wired to matrix {where[group.id]} together with a group whose rows float",
                "the groups of one matrix are driven alike, since their columns are joined",
                "wish for the same drive for both, or move one of them to a matrix of its own",
            )


def _reading_missing(facts: Facts) -> Iterator[Said]:
    for group in listened_groups(facts.job):
        missing = missing_readings(group.wiring.strobes)
        if missing:
            yield Said(
                f"groups.{group.id}.wiring.strobes",
                f"nobody has read {'; '.join(missing)}",
                "every reading of the organ's scanner, for its keys are listened to at its own pace",
                "read them with an oscilloscope on an isolated supply or a battery, nothing of ours connected",
            )


def _too_short(facts: Facts) -> Iterator[Said]:
    for group in listened_groups(facts.job):
        for judged in _windows(facts, group.id):
            if judged.result is not None and not judged.result.passes:
                yield Said(
                    f"groups.{group.id}.wiring.strobes.width",
                    f"a strobe is over {-judged.result.value:.0f} µs before its keys are read and checked "
                    f"({judged.result.corner})",
                    "a strobe that outlasts the wait of our input and the interrupt that may come late",
                    "shorten the leads to the taps, or fit second contacts or sensors of our own",
                )


def _windows(facts: Facts, group: str) -> list[Judged]:
    sensed = facts.sensing_of(group)
    designs: tuple[SenseDesign, ...] = () if sensed is None else (*sensed.ranked, *sensed.refused)
    return [judged for design in designs for judged in design.judged if judged.criterion == WINDOW]


def _strobe_unreadable(facts: Facts) -> Iterator[Said]:
    design = facts.strobes
    for group in listened_groups(facts.job):
        if design is None or (design.verdict is not Verdict.FAILS and not design.refusals):
            continue
        failing = [j for j in design.judged if j.verdict is Verdict.FAILS and j.result is not None]
        words = [f"{j.criterion}: {j.result.figure}, {j.result.bound}" for j in failing if j.result is not None]
        yield Said(
            f"groups.{group.id}.wiring.strobes",
            f"a strobe cannot be read: {'; '.join((*design.refusals, *words))}",
            "levels of a strobe that our input tells apart within 50 µA",
            "read the strobes again, or fit second contacts or sensors of our own",
        )


def _second_scanner(facts: Facts) -> Iterator[Said]:
    for group in facts.job.groups:
        interface = facts.interface_of(group.id)
        scanned = group.wiring.strobes is not None and group.wiring.owner is Owner.ORGAN
        if scanned and interface not in (None, Interface.LISTEN):
            yield Said(
                f"groups.{group.id}.wanted.interface",
                f"the organ scans this keyboard, and it is to be read by {interface.value if interface else ''}",
                "listen: strobes and returns are looked at together, no second scanner is laid across the first",
                'say interface = "listen", or fit second contacts or sensors and describe those as our own lines',
            )


def _no_scanner(facts: Facts) -> Iterator[Said]:
    for group in listened_groups(facts.job):
        if group.wiring.owner is not Owner.ORGAN:
            yield Said(
                f"groups.{group.id}.wanted.interface",
                f"a scanner is to be listened to, and the owner of the lines is {group.wiring.owner.value!r}",
                "lines that the organ goes on scanning itself",
                "read contacts of ours by the chain or as a matrix, or correct the owner",
            )


def _scanners_differ(facts: Facts) -> Iterator[Said]:
    first, *others = (*listened_groups(facts.job), None)
    for group in others:
        if first is None or group is None:
            continue
        one, other = first.wiring.strobes, group.wiring.strobes
        if one is None or other is None:
            continue
        if (one.active, one.period.value) != (other.active, other.period.value):
            yield Said(
                f"groups.{group.id}.wiring.strobes",
                f"its strobes are active {other.active.value} every {other.period}, those of {first.id} "
                f"{one.active.value} every {one.period}",
                "one scanner for each board, whose strobes all its keyboards share",
                "listen to the second scanner with a second board",
            )


RULES = (
    Rule(
        "matrix-drive-refused",
        "Rows cannot be driven against each other",
        Severity.ERROR,
        "the wished drive of a matrix with the diodes as found",
        _drive_refused,
        locked=True,
        why=(
            "A driven row sends current into every column that a held key joins to it; only a diode at each key keeps "
            "it from the row that is being read."
        ),
        remedy="let the rows float, or fit a diode at each key",
    ),
    Rule(
        "matrix-drives-differ",
        "Groups of one matrix want their rows driven differently",
        Severity.ERROR,
        "the wished drive of each group with the drive of the matrix that it is wired to",
        _drive_mixed,
        locked=True,
        why="The columns of a matrix are joined, so that a floating row of one group meets the driven rows of another.",
        remedy="wish for the same drive, or use a matrix of its own",
    ),
    Rule(
        "strobe-reading-missing",
        "The organ's scanner is not read well enough to be listened to",
        Severity.ERROR,
        "what was read of strobes and returns with what listening needs",
        _reading_missing,
        locked=True,
        why="Our board follows the organ's own pace: levels, widths and order of the strobes cannot be guessed.",
        remedy="take the readings that are named",
    ),
    Rule(
        "strobe-too-short",
        "A strobe is over before its keys are read",
        Severity.ERROR,
        "the shortest strobe with the wait of our input and the latest interrupt",
        _too_short,
        locked=True,
        why="What is read behind the end of a strobe belongs to the next one: keys would be lost, or others heard.",
        remedy="shorten the leads, or sense the keys with contacts or sensors of our own",
    ),
    Rule(
        "strobe-not-readable",
        "Our inputs cannot tell an active strobe from one at rest",
        Severity.ERROR,
        "the levels of a strobe with the limits of our input and of listening",
        _strobe_unreadable,
        locked=True,
        why="The strobes start every reading; one that is misread gives its keys to another.",
        remedy="read the levels again, or sense the keys with contacts or sensors of our own",
    ),
    Rule(
        "second-scanner",
        "A keyboard that the organ scans would be read without its strobes",
        Severity.ERROR,
        "keyboards whose strobes were read with their interface",
        _second_scanner,
        locked=True,
        why="A steady level tells nothing of a scanned key, and a second scanner upsets the first.",
        remedy="listen to the strobes, or sense the keys with contacts or sensors of our own",
    ),
    Rule(
        "listening-to-nothing",
        "A scanner is to be listened to where the organ has none",
        Severity.ERROR,
        "the owner of lines that are listened to",
        _no_scanner,
        locked=True,
        why="Nothing strobes lines that are ours: the keys would be silent for ever.",
        remedy="read these contacts by the chain or as a matrix",
    ),
    Rule(
        "scanners-differ",
        "Keyboards of two scanners would be listened to by one board",
        Severity.ERROR,
        "pace and active level of the strobes of all groups that are listened to",
        _scanners_differ,
        locked=True,
        why="The strobes of a board lie on one port and are told apart because one alone is active at a time.",
        remedy="use a board for each scanner",
    ),
)
