"""The classes of line, and how each may look: one table, from which classes are excluded and readings are chosen.

The figures behind the words are from the trade (common practice, no source) unless a feature says otherwise.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from retrofit.circuits.line.features import Feature, Seen
from retrofit.survey.readings import Load


class LineClass(StrEnum):
    """What a line is; where several fit, the first of them decides how it may be touched."""

    MAINS = "mains or other high AC"
    DATA = "data line"
    SCANNED = "scanned (multiplexed) line"
    PULSING = "blinking line of a tremulant"
    SHUNTED_AUDIO = "audio that the contact shunts to return"
    AUDIO = "audio through the contact"
    FLOATING = "floating line without a load"
    UNFILTERED = "line on an unfiltered rectifier"
    BIASED_GATE = "biased gate"
    DECAYING_GATE = "gate with decay"
    CHANGING_RESISTOR = "divider with a changing resistor"
    WIPER = "wiper of a potentiometer"
    THROUGH_RESISTOR = "keyed through a resistor"
    SWITCHED_BUS = "line on a bus that is switched elsewhere"
    MOVING_COIL = "coil that moves a control"
    LAMP = "lamp line"
    COIL = "line of a magnet to return"
    SPLIT_FEEDS = "two feeds within the group"
    LEAVES = "one of several isolated leaves"
    DIODE_MATRIX = "contact of a diode matrix without power"
    RETURN_NEGATIVE = "keyed to return, load to a negative supply"
    RETURN = "keyed to return, load to the supply"
    NEGATIVE = "keyed from a negative bus (positive ground)"
    POSITIVE = "keyed from a positive bus"


Allowed = Mapping[Feature, frozenset[Seen]]


@dataclass(frozen=True, slots=True)
class Signature:
    """How a class may look, feature by feature (any way where nothing is said), and loads that it must not meet."""

    allowed: Allowed
    forbidden: frozenset[Load] = field(default_factory=frozenset)


def _either(*seen: Seen) -> frozenset[Seen]:
    return frozenset(seen)


S = Seen
_STILL = _either(S.ZERO, S.NEAR)
_LIVE = _either(S.PLUS, S.MINUS)
_STEADY = _STILL | _LIVE
_SMOOTH = _either(S.QUIET, S.UNEASY)
_ANY_COIL = _either(S.SMALL, S.MIDDLE, S.COIL)

_TO_SUPPLY = frozenset({Load.TO_SUPPLY})
_NOT_BELOW_100K = _TO_SUPPLY | {Load.TEN_KILOHM}
_NOT_BELOW_1M = _NOT_BELOW_100K | {Load.HUNDRED_KILOHM}
_NOTHING = frozenset(Load) - {Load.METER}

_SWINGS: Allowed = {
    Feature.IDLE: _STILL,
    Feature.KEYED: _LIVE,
    Feature.CHANGE: _either(S.DIFFERS),
    Feature.SWEEPS: _either(S.NO),
}
_PLAIN: Allowed = {
    Feature.CHANGE: _either(S.DIFFERS),
    Feature.SWEEPS: _either(S.NO),
    Feature.AC: _SMOOTH,
    Feature.RHYTHM: _either(S.NONE, S.POWER),
    Feature.FALL: _either(S.FAST),
    Feature.SERIES: _either(S.DIRECT),
    Feature.BUS: _either(S.DIRECT, S.THROUGH),
    Feature.LEAVES: _either(S.ONE),
    Feature.OTHER_LINE: _either(S.AGREES),
}
"""One contact between a bus that is always fed and a line, and nothing else."""
_FROM_A_BUS: Allowed = {
    **_PLAIN,
    Feature.IDLE: _STILL,
    Feature.TO_RETURN: _either(S.LOAD, S.HIGH, S.OPEN),
}
_TO_THE_RETURN: Allowed = {**_PLAIN, Feature.KEYED: _either(S.ZERO)}
_CARRIES_AUDIO: Allowed = {
    Feature.IDLE: _either(S.ZERO),
    Feature.KEYED: _either(S.ZERO),
    Feature.AC: _either(S.SIGNAL),
}
_BETWEEN_TWO: Allowed = {
    Feature.IDLE: _LIVE | {S.NEAR},
    Feature.KEYED: _LIVE | {S.NEAR},
    Feature.CHANGE: _either(S.DIFFERS),
    Feature.AC: _SMOOTH,
    Feature.SWEEPS: _either(S.YES),
}

SIGNATURES: Mapping[LineClass, Signature] = {
    LineClass.MAINS: Signature({Feature.AC: _either(S.MAINS)}, _NOTHING),
    LineClass.DATA: Signature(
        {
            Feature.IDLE: _LIVE,
            Feature.KEYED: _LIVE,
            Feature.CHANGE: _either(S.SAME),
            Feature.AC: _SMOOTH,
        },
        _NOTHING - {Load.MEGOHM},
    ),
    LineClass.SCANNED: Signature(
        {
            Feature.IDLE: _STEADY,
            Feature.AC: _either(S.RIPPLE, S.PULSES, S.STRONG),
            Feature.RHYTHM: _either(S.PULSES),
        },
        _NOT_BELOW_1M,
    ),
    LineClass.PULSING: Signature(
        {Feature.RHYTHM: _either(S.SLOW), Feature.AC: _either(S.UNEASY, S.RIPPLE, S.PULSES, S.STRONG)}, _NOT_BELOW_1M
    ),
    LineClass.SHUNTED_AUDIO: Signature({**_CARRIES_AUDIO, Feature.TO_RETURN: _either(S.SHORT)}, _NOT_BELOW_1M),
    LineClass.AUDIO: Signature(
        {**_CARRIES_AUDIO, Feature.TO_RETURN: _ANY_COIL | {S.LOAD, S.HIGH, S.OPEN}}, _NOT_BELOW_1M
    ),
    LineClass.FLOATING: Signature(
        {Feature.IDLE: _either(S.WANDERS), Feature.RHYTHM: _either(S.NONE, S.POWER)}, _TO_SUPPLY
    ),
    LineClass.UNFILTERED: Signature(
        {Feature.IDLE: _STEADY, Feature.AC: _either(S.RIPPLE), Feature.RHYTHM: _either(S.POWER)}, _TO_SUPPLY
    ),
    LineClass.BIASED_GATE: Signature(
        {
            Feature.IDLE: _either(S.MINUS),
            Feature.KEYED: _STILL | {S.PLUS},
            Feature.CHANGE: _either(S.DIFFERS),
            Feature.AC: _SMOOTH,
            Feature.TO_SUPPLY: _either(S.HIGH, S.OPEN),
            Feature.SWEEPS: _either(S.NO),
        },
        _NOT_BELOW_100K,
    ),
    LineClass.DECAYING_GATE: Signature(
        {**_SWINGS, Feature.AC: _SMOOTH, Feature.FALL: _either(S.SLOW)}, _NOT_BELOW_100K
    ),
    LineClass.CHANGING_RESISTOR: Signature({**_BETWEEN_TWO, Feature.SOURCES: _either(S.UNLIKE)}, _TO_SUPPLY),
    LineClass.WIPER: Signature({**_BETWEEN_TWO, Feature.SOURCES: _either(S.ALIKE)}, _TO_SUPPLY),
    LineClass.THROUGH_RESISTOR: Signature(
        {**_SWINGS, Feature.AC: _SMOOTH, Feature.FALL: _either(S.FAST), Feature.SERIES: _either(S.RESISTOR)},
        _NOT_BELOW_100K,
    ),
    LineClass.SWITCHED_BUS: Signature({**_SWINGS, Feature.AC: _SMOOTH, Feature.BUS: _either(S.OPEN)}, _TO_SUPPLY),
    LineClass.MOVING_COIL: Signature(
        {
            **_SWINGS,
            Feature.AC: _SMOOTH,
            Feature.TO_RETURN: _either(S.SMALL, S.MIDDLE),
            Feature.MOVES: _either(S.YES),
        },
        _TO_SUPPLY,
    ),
    LineClass.LAMP: Signature(
        {
            Feature.IDLE: _STILL,
            Feature.KEYED: _STEADY,
            Feature.AC: _SMOOTH | {S.RIPPLE, S.STRONG},
            Feature.TO_RETURN: _either(S.SMALL),
            Feature.MOVES: _either(S.NO),
        },
        _TO_SUPPLY,
    ),
    LineClass.COIL: Signature(
        {**_SWINGS, Feature.AC: _SMOOTH, Feature.TO_RETURN: _either(S.MIDDLE, S.COIL)}, _TO_SUPPLY
    ),
    LineClass.SPLIT_FEEDS: Signature(
        {Feature.IDLE: _STEADY, Feature.AC: _SMOOTH, Feature.OTHER_LINE: _either(S.DIFFERS)}, _TO_SUPPLY
    ),
    LineClass.LEAVES: Signature(
        {
            Feature.IDLE: _STEADY,
            Feature.CHANGE: _either(S.DIFFERS),
            Feature.AC: _SMOOTH,
            Feature.LEAVES: _either(S.SEVERAL),
        },
        _TO_SUPPLY,
    ),
    LineClass.DIODE_MATRIX: Signature(
        {
            Feature.IDLE: _either(S.ZERO),
            Feature.KEYED: _either(S.ZERO),
            Feature.AC: _either(S.QUIET),
            Feature.DIODE: _either(S.ONE_WAY),
        },
        _NOT_BELOW_1M,
    ),
    LineClass.RETURN_NEGATIVE: Signature(
        {**_TO_THE_RETURN, Feature.IDLE: _either(S.MINUS), Feature.TO_SUPPLY: _ANY_COIL | {S.LOAD}}, _TO_SUPPLY
    ),
    LineClass.RETURN: Signature(
        {**_TO_THE_RETURN, Feature.IDLE: _either(S.PLUS), Feature.TO_SUPPLY: _ANY_COIL | {S.LOAD, S.HIGH}}
    ),
    LineClass.NEGATIVE: Signature({**_FROM_A_BUS, Feature.KEYED: _either(S.MINUS)}, _TO_SUPPLY),
    LineClass.POSITIVE: Signature({**_FROM_A_BUS, Feature.KEYED: _either(S.PLUS)}, _TO_SUPPLY),
}
