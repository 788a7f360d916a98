"""The source behind a line: its volts and resistance, from readings that load it differently.

With volts V behind a resistance R, a load G (in siemens) shows V/(1 + R·G).  Two loads give both unknowns, and the
meter's own load is one of them, so that it is corrected and not neglected.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from math import inf

from retrofit.circuits.line.evidence import LOAD_OHMS, Evidence
from retrofit.circuits.result import Span, corners
from retrofit.survey.readings import Load, State


@dataclass(frozen=True, slots=True)
class Source:
    """Volts and resistance of a source, worst case; `ohms` is None where the readings do not tell.

    `linear` is False when two loads disagree on the resistance, None when fewer than two could be compared.
    """

    volts: Span
    ohms: Span | None
    linear: bool | None
    remark: str = ""


def loaded_volts(volts: float, source_ohms: float, load_ohms: float) -> float:
    """Return what a source shows under a load to return: V·R/(R + Rs)."""
    return volts * load_ohms / (load_ohms + source_ohms)


def loading_share(source_ohms: float, load_ohms: float) -> float:
    """Return the share by which a load lowers a source's volts: Rs/(Rs + R)."""
    return source_ohms / (source_ohms + load_ohms)


def fit_source(evidence: Evidence, state: State) -> Source | None:
    """Return the source of the line in a state, or None when the meter gave no volts for it."""
    alone = evidence.at(state)
    if alone is None or alone.span is None:
        return None
    pairs = [pair for load in LOAD_OHMS if (pair := _pair(evidence, state, load)) is not None]
    if not pairs:
        return Source(alone.span, None, None, "the meter's own load is not corrected: the resistance is not known")
    if any(_apart(one, other) for one, other in combinations([ohms for _, ohms in pairs], 2)):
        remark = "loads disagree on the resistance: a lamp, diode or transistor is on the line"
        return Source(alone.span, None, False, remark)
    volts, ohms = (_common([pair[part] for pair in pairs]) for part in (0, 1))
    return Source(volts, ohms, True if len(pairs) > 1 else None)


def _pair(evidence: Evidence, state: State, load: Load) -> tuple[Span, Span] | None:
    """Return volts and resistance from the meter alone and one load; None when both tell nothing of a resistance."""
    alone, loaded = evidence.at(state), evidence.at(state, load)
    if alone is None or loaded is None or alone.span is None or loaded.span is None:
        return None
    sign = -1.0 if (alone.volts or 0.0) < 0 else 1.0
    light, heavy = _magnitude(alone.span, sign), _magnitude(loaded.span, sign)
    if light.least <= 0 or heavy.greatest <= 0:
        return None
    spans = {"light": light, "heavy": Span(max(heavy.least, 0.0), heavy.greatest)}
    loads = {"light_ohms": evidence.ohms_to_return(Load.METER), "heavy_ohms": evidence.ohms_to_return(load)}
    found = [_solve(**corner) for corner in corners(**spans, **loads)]
    if all(ohms < 0 for _, ohms in found):
        return None
    volts = [volts for volts, _ in found]
    ohms = [max(0.0, ohms) for _, ohms in found]
    ends = sorted((sign * min(volts), sign * max(volts)))
    return Span(*ends), Span(min(ohms), max(ohms))


def _magnitude(span: Span, sign: float) -> Span:
    return Span(*sorted((sign * span.least, sign * span.greatest)))


def _solve(light: float, heavy: float, light_ohms: float, heavy_ohms: float) -> tuple[float, float]:
    """Return open volts and source resistance; resistance below zero when the load seems to raise the volts.

    From 1/v = (1 + R·G)/V for both loads: R/V = (1/v2 − 1/v1)/(G2 − G1) and 1/V = 1/v1 − R/V·G1.
    """
    if heavy == 0:
        return inf, inf
    per_siemens = (1 / heavy - 1 / light) / (1 / heavy_ohms - 1 / light_ohms)
    if per_siemens < 0:
        return light, -1.0
    inverse = 1 / light - per_siemens / light_ohms
    return (1 / inverse, per_siemens / inverse) if inverse > 0 else (inf, inf)


def _apart(one: Span, other: Span) -> bool:
    return one.least > other.greatest or other.least > one.greatest


def _common(spans: list[Span]) -> Span:
    """Return what all spans share; where errors have left nothing in common, all that they cover."""
    least, greatest = max(span.least for span in spans), min(span.greatest for span in spans)
    if least <= greatest:
        return Span(least, greatest)
    return Span(min(span.least for span in spans), max(span.greatest for span in spans))
