"""Listening to a keyboard that the organ scans: what was read of its scanner, and how our inputs and the board keep up.

A strobe reaches our pin through its resistors a little late; the interrupt then takes its time to begin, waits until
the returns have settled, reads them and looks whether the strobe is still there.  All of that must lie within the
shortest strobe.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from retrofit.catalogue.load import Catalogue
from retrofit.catalogue.parts import Board, Cable
from retrofit.circuits.result import Span
from retrofit.circuits.sense import strobe_listening
from retrofit.circuits.sense.design import SenseDesign
from retrofit.circuits.sense.line import Line
from retrofit.circuits.sense.logic_input import pin_input
from retrofit.circuits.sense.strobe_window import Strobes
from retrofit.circuits.settle import wait_us
from retrofit.plan.interfaces import interface_of
from retrofit.scan.requests import ListenStyle
from retrofit.survey.bench import Reading
from retrofit.survey.contacts import Group
from retrofit.survey.job import Job
from retrofit.survey.wiring import NeighboursShare, StrobeLevel
from retrofit.survey.wiring import Strobes as StrobesFound
from retrofit.survey.wishes import Interface
from retrofit.timing.choose import ContactBounce

SCOPE_SHARE = 0.03
"""Error of an oscilloscope's volts and times; common practice, no source."""
SCOPE_VOLTS = 0.1
"""And of its zero; common practice, no source."""
OHMS_SHARE = 0.05
"""Error of a source resistance that was worked out from two readings; common practice, no source."""
SILENT_ROUNDS = 16
SILENT_LEAST_US = 100_000.0
"""A strobe that is silent for so many rounds, and at least so long, has its keys off; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Scanner:
    """What was read of a scanner, with the errors of the readings; None where nothing was."""

    returns: Strobes
    strobe_lines: Strobes
    lead_m: float | None


def scanner_of(found: StrobesFound | None) -> Scanner:
    """Return the scanner that was read; a keyboard of which nothing was read has a scanner of unknowns."""
    found = found or StrobesFound()
    period, width = found.period.value, found.width.value
    period_us = None if period is None else Span.around(1e6 * period, SCOPE_SHARE)
    duty = None if period is None or width is None or not period else Span.exact(width / period)
    source = None if found.source.value is None else Span.around(found.source.value, OHMS_SHARE)
    returns = Strobes(period_us, duty, _volts(found.idle), _volts(found.keyed), source)
    lines = replace(returns, idle_volts=_volts(found.rest), strobed_volts=_volts(found.active_volts))
    return Scanner(returns, lines, found.lead.value)


def _volts(reading: Reading) -> Span | None:
    if reading.value is None:
        return None
    error = abs(reading.value) * SCOPE_SHARE + SCOPE_VOLTS
    return Span(reading.value - error, reading.value + error)


def missing_readings(found: StrobesFound | None) -> tuple[str, ...]:
    """Return in words what must still be read of a scanner before its keys can be listened to."""
    found = found or StrobesFound()
    known = {
        "how many strobes there are": found.strobes is not None,
        "how many returns there are": found.returns is not None,
        "whether neighbouring keys share a strobe or a return": found.neighbours_share is not NeighboursShare.UNKNOWN,
        "whether a strobe is active high or low": found.active is not StrobeLevel.UNKNOWN,
        "the volts of a strobe at rest and active": found.rest.known and found.active_volts.known,
        "the volts of a return without and with its key": found.idle.known and found.keyed.known,
        "the resistance of a return": found.source.known,
        "the time from one strobe of a line to its next": found.period.known,
        "how long a strobe is active": found.width.known,
        "the length of our lead to each line": found.lead.known,
    }
    return tuple(words for words, is_known in known.items() if not is_known)


def sample_late_us(found: StrobesFound | None, board: Board, catalogue: Catalogue) -> float | None:
    """Return how much later than the edge of a strobe its returns may have been read and checked, without the wait."""
    edge_us = _settle_us(scanner_of(found).strobe_lines, found, board, catalogue)
    costs = catalogue.firmware_costs[board.id]
    if edge_us is None or found is None or found.returns is None or not costs.listen_late:
        return None
    cycles = costs.listen_late + -(-found.returns // 8) * costs.listen_port
    return edge_us + cycles * 1e6 / board.clock_hz


def _settle_us(strobes: Strobes, found: StrobesFound | None, board: Board, catalogue: Catalogue) -> float | None:
    lead_m = scanner_of(found).lead_m
    return strobe_listening.settle_us(_PLAIN, pin_input(board), strobes=strobes, cable=_cable(catalogue), lead_m=lead_m)


_PLAIN = Line(None, None)
"""Of a scanned line the strobes tell everything that is known."""


def _cable(catalogue: Catalogue) -> Cable:
    return catalogue.cables["unknown"]


def returns_design(group: Group, line: Line, board: Board, catalogue: Catalogue) -> SenseDesign:
    """Return the circuit of each return of a group, judged with the window that its strobes leave."""
    found = group.wiring.strobes
    late_us = sample_late_us(found, board, catalogue)
    return _design(scanner_of(found).returns, found, line, board, catalogue, late_us)


def strobes_design(found: StrobesFound | None, board: Board, catalogue: Catalogue) -> SenseDesign:
    """Return the circuit of each strobe."""
    return _design(scanner_of(found).strobe_lines, found, _PLAIN, board, catalogue, None)


def _design(
    strobes: Strobes,
    found: StrobesFound | None,
    line: Line,
    board: Board,
    catalogue: Catalogue,
    late_us: float | None,
) -> SenseDesign:
    return strobe_listening.design(
        line,
        pin_input(board),
        strobes=strobes,
        cable=_cable(catalogue),
        lead_m=scanner_of(found).lead_m,
        sample_late_us=late_us,
        rail_load_a=board.figures["own_current"].least,
    )


def listen_styles(job: Job, board: Board, catalogue: Catalogue) -> dict[str, ListenStyle]:
    """Return how each group that is listened to is laid out; groups of which too little was read are left out."""
    styles = {group.id: _style(group, board, catalogue) for group in listened_groups(job)}
    return {group: style for group, style in styles.items() if style is not None}


def listened_groups(job: Job) -> Iterator[Group]:
    """Yield the groups that are listened to."""
    return (group for group in job.groups if interface_of(group) is Interface.LISTEN)


def _style(group: Group, board: Board, catalogue: Catalogue) -> ListenStyle | None:
    found = group.wiring.strobes
    settled_us = _settle_us(scanner_of(found).returns, found, board, catalogue)
    period_us = scanner_of(found).returns.period_us
    if found is None or missing_readings(found) or settled_us is None or period_us is None:
        return None
    return ListenStyle(
        strobes=found.strobes or 0,
        returns=found.returns or 0,
        neighbours_share_strobe=found.neighbours_share is NeighboursShare.STROBE,
        active_low=found.active is StrobeLevel.LOW,
        settle_us=wait_us(settled_us),
        silent_us=max(SILENT_LEAST_US, SILENT_ROUNDS * period_us.greatest),
        round_us=(period_us.least, period_us.greatest),
    )


def round_us_most(group: Group) -> float:
    """Return how old what is kept of a key may be: the longest round of its scanner, 0 where none scans."""
    period_us = scanner_of(group.wiring.strobes).returns.period_us
    return period_us.greatest if interface_of(group) is Interface.LISTEN and period_us is not None else 0.0


def bounce_as_kept(group: Group, bounce: ContactBounce) -> ContactBounce:
    """Return the bounce as what is kept of it shows it: a wrong level stays until the strobe comes round again."""
    return replace(bounce, kept_us=round_us_most(group))
