"""What stands out in the readings of a line, each feature as one word of few; a feature not yet known is left out."""

from __future__ import annotations

from enum import StrEnum
from math import isinf

from retrofit.circuits.line.evidence import Evidence, Taken
from retrofit.circuits.line.thevenin import fit_source
from retrofit.circuits.result import Span
from retrofit.survey.readings import Load, State


class Feature(StrEnum):
    """What is looked at."""

    IDLE = "volts when idle"
    KEYED = "volts when keyed"
    CHANGE = "whether the volts change"
    AC = "AC beside the DC"
    RHYTHM = "frequency"
    FALL = "fall after release"
    SERIES = "resistance between bus and line, key down"
    TO_RETURN = "resistance from line to return"
    TO_SUPPLY = "resistance from line to supply"
    BUS = "resistance from bus to supply"
    DIODE = "diode between bus and line"
    LEAVES = "contacts of one key"
    OTHER_LINE = "volts of another line of the group"
    SOURCES = "source resistance in both states"
    SWEEPS = "whether the volts sweep"
    MOVES = "whether the control is moved by the console"


class Seen(StrEnum):
    """How a feature may look."""

    ZERO = "zero"
    NEAR = "near zero"
    PLUS = "positive"
    MINUS = "negative"
    WANDERS = "wanders"
    SAME = "the same in both states"
    DIFFERS = "differs"
    AGREES = "agrees"
    QUIET = "quiet"
    UNEASY = "some AC"
    RIPPLE = "half waves"
    PULSES = "pulses"
    SIGNAL = "millivolts without DC"
    STRONG = "volts without DC"
    MAINS = "mains"
    NONE = "none"
    SLOW = "slow"
    POWER = "mains or twice that"
    FAST = "fast"
    DIRECT = "direct"
    THROUGH = "through ohms"
    RESISTOR = "resistor"
    SHORT = "short"
    SMALL = "small"
    MIDDLE = "as a small coil"
    COIL = "as a magnet"
    LOAD = "as an input"
    HIGH = "as a bias resistor"
    OPEN = "open"
    ONE_WAY = "one way"
    BOTH = "both ways"
    ONE = "one"
    SEVERAL = "several"
    ALIKE = "alike"
    UNLIKE = "unlike"
    YES = "yes"
    NO = "no"


NOTHING_VOLTS = 0.05
"""Below this a meter on clip leads shows nothing of weight; common practice, no source."""
ZERO_SHARE, NEAR_SHARE = 0.02, 0.15
"""Shares of the greater state up to which the other one is a closed way to return, or a residue."""
FALLS_TO_SHARE = 0.3
"""A line that keeps less than this under 1 MΩ has more than megohms behind it: it floats."""
QUIET_AC_VOLTS, SIGNAL_AC_VOLTS, MAINS_AC_VOLTS = 0.005, 1.5, 30.0
DC_VOLTS_OF_PULSES = 0.2
UNEASY_RATIO, RIPPLE_RATIO, PULSE_RATIO, NO_DC_RATIO = 0.04, 0.3, 1.4, 6.0
"""AC over DC.  A full-wave rectified sine has 0.483 and a half-wave one 1.211 (arithmetic of the waves); pulses of one
row in n have the square root of n - 1."""
SLOW_HZ, POWER_HZ, SCAN_HZ = (1.0, 20.0), (40.0, 130.0), (150.0, 50e3)
"""Tremulant; mains and full-wave ripple; scanning.  From memory but for the mains."""
SLOW_FALL_S = 0.03
"""From here on the fall to a tenth is that of a capacitor, not of a meter; common practice, no source."""
DIRECT_OHMS, RESISTOR_OHMS = 1e3, 10e3
BUS_DIRECT_OHMS, BUS_THROUGH_OHMS = 1.0, 60.0
_OHM_STEPS = ((2.0, Seen.SHORT), (45.0, Seen.SMALL), (65.0, Seen.MIDDLE), (400.0, Seen.COIL), (15e3, Seen.LOAD))
"""Contact; cold lamp or strong coil; overlap of small coils and magnets; magnet; input of a keyer.  From memory."""
_HIGH_OHMS = 5e6
DIODE_VOLTS = (0.1, 0.85)
"""Least and greatest forward volts of one diode in a meter's diode test; common practice, no source."""
SPLIT_SHARE = 0.15
ALIKE_RATIO, UNLIKE_RATIO = 2.5, 3.0
STIFF_OHMS = 3e3


def features(evidence: Evidence) -> dict[Feature, Seen]:
    """Return every feature that the evidence tells."""
    structure = evidence.structure
    found = {
        Feature.IDLE: _level(evidence, State.IDLE),
        Feature.KEYED: _level(evidence, State.KEYED),
        Feature.CHANGE: _change(evidence),
        Feature.AC: _ac(evidence),
        Feature.RHYTHM: _rhythm(evidence),
        Feature.FALL: _two(structure.fall_time_s, SLOW_FALL_S, Seen.FAST, Seen.SLOW),
        Feature.SERIES: _series(structure.series_ohms),
        Feature.TO_RETURN: _ohms(structure.line_to_return_ohms),
        Feature.TO_SUPPLY: _ohms(structure.line_to_supply_ohms),
        Feature.BUS: _bus(structure.bus_to_supply_ohms, structure.switched_by_stop),
        Feature.DIODE: _diode(structure.diode_forward_volts, structure.diode_reverse_volts),
        Feature.LEAVES: _two(structure.leaves, 2, Seen.ONE, Seen.SEVERAL),
        Feature.OTHER_LINE: _other_line(evidence),
        Feature.SOURCES: _sources(evidence),
        Feature.SWEEPS: _sweeps(evidence),
        Feature.MOVES: _answer(structure.moves_by_itself),
    }
    return {feature: seen for feature, seen in found.items() if seen is not None}


def _two(found: float | None, limit: float, below: Seen, above: Seen) -> Seen | None:
    return None if found is None else below if found < limit else above


def _answer(answer: bool | None) -> Seen | None:
    return {None: None, True: Seen.YES, False: Seen.NO}[answer]


def _level(evidence: Evidence, state: State) -> Seen | None:
    """Return the sign of a state.  Idle volts count only once 1 MΩ has shown that something stands behind them."""
    taken = evidence.at(state)
    if taken is None:
        return None
    if taken.wanders:
        return Seen.WANDERS
    if taken.volts is None:
        return None
    if state is State.IDLE and _could_float(taken):
        loaded = evidence.at(state, Load.MEGOHM)
        if loaded is None or loaded.volts is None:
            return None
        if abs(loaded.volts) < max(NOTHING_VOLTS, FALLS_TO_SHARE * abs(taken.volts)):
            return Seen.WANDERS
    return _sign(taken.volts, evidence)


def _could_float(taken: Taken) -> bool:
    return abs(taken.volts or 0.0) > NOTHING_VOLTS


def _sign(volts: float, evidence: Evidence) -> Seen | None:
    both = [abs(v) for state in State if (v := evidence.volts(state)) is not None]
    greater, known = max(both), len(both) == len(State)
    if abs(volts) <= max(NOTHING_VOLTS, ZERO_SHARE * greater):
        return Seen.ZERO
    if abs(volts) <= NEAR_SHARE * greater:
        return Seen.NEAR
    if not known and abs(volts) < 1:
        return None  # what it is a residue of is not known yet
    return Seen.PLUS if volts > 0 else Seen.MINUS


def _change(evidence: Evidence) -> Seen | None:
    idle, keyed = evidence.at(State.IDLE), evidence.at(State.KEYED)
    if idle is None or keyed is None or idle.span is None or keyed.span is None:
        return None
    return Seen.SAME if _overlap(idle.span, keyed.span) else Seen.DIFFERS


def _overlap(one: Span, other: Span) -> bool:
    return one.least <= other.greatest and other.least <= one.greatest


def _ac(evidence: Evidence) -> Seen | None:
    """Return the AC of the state with more DC, or of the louder state where there is none."""
    taken = [t for state in State if (t := evidence.at(state)) is not None]
    if len(taken) < len(State) or any(t.ac_volts is None for t in taken):
        return None
    direct = max(taken, key=lambda t: abs(t.volts or 0.0))
    loudest = max(t.ac_volts or 0.0 for t in taken)
    if loudest >= MAINS_AC_VOLTS:
        return Seen.MAINS
    if abs(direct.volts or 0.0) >= DC_VOLTS_OF_PULSES:
        ratio = (direct.ac_volts or 0.0) / abs(direct.volts or 1.0)
        steps = ((UNEASY_RATIO, Seen.QUIET), (RIPPLE_RATIO, Seen.UNEASY), (PULSE_RATIO, Seen.RIPPLE))
        within = next((seen for limit, seen in steps if ratio < limit), Seen.PULSES)
        if ratio < NO_DC_RATIO:
            return within
    if loudest < QUIET_AC_VOLTS:
        return Seen.QUIET
    return Seen.SIGNAL if loudest < SIGNAL_AC_VOLTS else Seen.STRONG


def _rhythm(evidence: Evidence) -> Seen | None:
    frequency = evidence.structure.frequency_hz
    if frequency is None:
        wandering = any(t.wanders for t in evidence.taken)
        return Seen.NONE if _ac(evidence) is Seen.QUIET and not wandering else None
    bands = ((SLOW_HZ, Seen.SLOW), (POWER_HZ, Seen.POWER), (SCAN_HZ, Seen.PULSES))
    return next((seen for (low, high), seen in bands if low <= frequency <= high), Seen.NONE)


def _series(ohms: float | None) -> Seen | None:
    """Between a dirty contact and a resistor the reading alone cannot tell."""
    if ohms is None or DIRECT_OHMS <= ohms < RESISTOR_OHMS or isinf(ohms):
        return None
    return Seen.DIRECT if ohms < DIRECT_OHMS else Seen.RESISTOR


def _ohms(ohms: float | None) -> Seen | None:
    if ohms is None:
        return None
    below = next((seen for limit, seen in _OHM_STEPS if ohms < limit), None)
    return below or (Seen.HIGH if ohms < _HIGH_OHMS else Seen.OPEN)


def _bus(ohms: float | None, switched: bool | None) -> Seen | None:
    if switched:
        return Seen.OPEN
    if ohms is None:
        return None
    if ohms < BUS_DIRECT_OHMS:
        return Seen.DIRECT
    return Seen.THROUGH if ohms < BUS_THROUGH_OHMS else Seen.OPEN


def _diode(forward: float | None, reverse: float | None) -> Seen | None:
    if forward is None or reverse is None:
        return None
    if DIODE_VOLTS[0] <= forward <= DIODE_VOLTS[1] and isinf(reverse):
        return Seen.ONE_WAY
    return Seen.OPEN if isinf(forward) and isinf(reverse) else Seen.BOTH


def _other_line(evidence: Evidence) -> Seen | None:
    own = evidence.at(State.KEYED)
    if own is None or own.span is None or not evidence.other_lines_volts:
        return None
    spread = SPLIT_SHARE * abs(own.volts or 0.0)
    near = Span(own.span.least - spread, own.span.greatest + spread)
    return Seen.AGREES if all(_overlap(near, other) for other in evidence.other_lines_volts) else Seen.DIFFERS


def _sweeps(evidence: Evidence) -> Seen | None:
    """A state without any volts is that of a contact; otherwise only watching the meter tells."""
    if Seen.ZERO in (_level(evidence, State.IDLE), _level(evidence, State.KEYED)):
        return Seen.NO
    return _answer(evidence.structure.sweeps)


def _sources(evidence: Evidence) -> Seen | None:
    """Return whether the source resistances of the two states are alike, as behind the wiper of a potentiometer."""
    idle, keyed = (fit_source(evidence, state) for state in State)
    if idle is None or keyed is None or idle.ohms is None or keyed.ohms is None:
        return None
    if max(idle.ohms.greatest, keyed.ohms.greatest) < STIFF_OHMS:
        return Seen.ALIKE
    low, high = sorted((idle.ohms, keyed.ohms), key=lambda span: span.least + span.greatest)
    if low.greatest * UNLIKE_RATIO < high.least:
        return Seen.UNLIKE
    return Seen.ALIKE if low.least > 0 and high.greatest < ALIKE_RATIO * low.least else None
