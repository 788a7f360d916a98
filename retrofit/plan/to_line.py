"""From a group's wiring to the line that its sense circuits are worked out for; what was not measured stays None."""

from __future__ import annotations

from collections.abc import Iterable
from math import inf, log, pi

from retrofit.circuits.line.classes import LineClass
from retrofit.circuits.line.classify import Classified, classify
from retrofit.circuits.line.evidence import USUAL_METER_OHMS, Evidence
from retrofit.circuits.line.features import SLOW_FALL_S, Feature, Seen, features
from retrofit.circuits.line.thevenin import Source, fit_source
from retrofit.circuits.result import Span
from retrofit.circuits.sense.line import Decay, Line, Ripple
from retrofit.plan.line_evidence import feeding_supply, line_evidence, lines_read, volts_span
from retrofit.survey.base import Ternary
from retrofit.survey.bench import Reading
from retrofit.survey.contacts import GroupBase
from retrofit.survey.job import Job
from retrofit.survey.readings import State
from retrofit.survey.wiring import LineState, Owner, Wiring

OHMS_TOLERANCE = 0.01
"""Of a meter's ohms; common practice, no source."""
KICK_VOLTS = 400.0
"""Greatest kick of a magnet without a diode; from memory."""
COIL_OHMS = Span(2.0, 400.0)
"""A load between these is taken for a winding; below it is a short; common practice, no source."""
FALL_TOLERANCE = 0.3
"""Of a fall that is timed by eye; common practice, no source."""
NEAR_SUPPLY_SHARE = 0.15
"""Volts this near those of the supply come from it; common practice, no source."""
HALF_WAVE_RATIO = 0.8
"""Between the AC over DC of full waves (0.483) and of half waves (1.211)."""
_AUDIO = (LineClass.AUDIO, LineClass.SHUNTED_AUDIO)


def classified(job: Job, group: GroupBase) -> Classified | None:
    """Return the class of the line of a group that is read best, or None when none was read."""
    lines = lines_read(group)
    return classify(line_evidence(job, group, lines[0])) if lines else None


def to_line(job: Job, group: GroupBase, lines_at_once: int) -> Line:
    """Return the group's line, worst case over its lines that were read.

    What was concluded of a state (`idle`, `keyed`) goes before what its readings give.  Readings that contradict each
    other give nothing.
    """
    wiring = group.wiring
    evidence = [line_evidence(job, group, line) for line in lines_read(group)]
    sound = [found for found in evidence if not classify(found).contradictions]
    if wiring.owner is Owner.US:
        ohms = _ohms_span(wiring.contact_resistance)
        return Line(None, None, keyed_ohms=ohms, carries_audio=False, kick_volts=0.0, ours=True)
    sources = {state: [s for e in sound if (s := fit_source(e, state)) is not None] for state in State}
    idle = _with_supply(job, wiring, _volts(wiring.idle, sources[State.IDLE]))
    keyed = _with_supply(job, wiring, _volts(wiring.keyed, sources[State.KEYED]))
    load = _load_ohms(wiring, idle, keyed)
    return Line(
        idle_volts=idle,
        keyed_volts=keyed,
        idle_ohms=_source_ohms(wiring.idle, sources[State.IDLE]),
        keyed_ohms=_source_ohms(wiring.keyed, sources[State.KEYED]),
        keyed_amps=_keyed_amps(load, idle, keyed),
        decay=_decay(wiring),
        ripple=next((ripple for e in sound if (ripple := _ripple(e)) is not None), None),
        kick_volts=_kick(load, evidence),
        carries_audio=_audio(wiring, evidence),
        lines_at_once=max(1, lines_at_once),
    )


def _volts(concluded: LineState, sources: Iterable[Source]) -> Span | None:
    return volts_span(concluded.volts) or _hull([source.volts for source in sources])


def _source_ohms(concluded: LineState, sources: Iterable[Source]) -> Span | None:
    return _ohms_span(concluded.source) or _hull([source.ohms for source in sources if source.ohms is not None])


def _ohms_span(reading: Reading) -> Span | None:
    return None if reading.value is None else Span.around(reading.value, OHMS_TOLERANCE)


def _hull(spans: list[Span]) -> Span | None:
    """Return what covers all spans; None when there are none, or one of them has no end."""
    if not spans or any(inf in (abs(span.least), abs(span.greatest)) for span in spans):
        return None
    return Span(min(span.least for span in spans), max(span.greatest for span in spans))


def _with_supply(job: Job, wiring: Wiring, volts: Span | None) -> Span | None:
    """Widen volts that come from the supply by how far it moves between rest and everything on."""
    supply = feeding_supply(job, wiring)
    if volts is None or supply is None:
        return volts
    read = (supply.volts_rest, supply.volts_typical, supply.volts_full)
    spans = [Span(*sorted((abs(s.least), abs(s.greatest)))) for r in read if (s := volts_span(r)) is not None]
    moves = _hull(spans)
    middle = (volts.least + volts.greatest) / 2
    if moves is None or not _near(abs(middle), moves):
        return volts
    signed = moves if middle > 0 else Span(-moves.greatest, -moves.least)
    return _hull([volts, signed])


def _near(volts: float, supply: Span) -> bool:
    return supply.least * (1 - NEAR_SUPPLY_SHARE) <= volts <= supply.greatest * (1 + NEAR_SUPPLY_SHARE)


def _load_ohms(wiring: Wiring, idle: Span | None, keyed: Span | None) -> float | None:
    """Return the organ's load: to return on lines keyed from a bus, to the supply on lines keyed to return."""
    if idle is None or keyed is None:
        return None
    from_a_bus = _size(keyed) > _size(idle)
    reading: Reading = wiring.dead.line_to_return if from_a_bus else wiring.dead.line_to_supply
    return reading.value


def _size(volts: Span) -> float:
    return abs(volts.least + volts.greatest) / 2


def _keyed_amps(load_ohms: float | None, idle: Span | None, keyed: Span | None) -> float | None:
    """Return the least current of a winding; what an electronic input draws cannot be told from ohms read dead."""
    if load_ohms is None or not _winding(load_ohms) or idle is None or keyed is None:
        return None
    across = keyed if _size(keyed) > _size(idle) else idle
    return min(abs(across.least), abs(across.greatest)) / (load_ohms * (1 + OHMS_TOLERANCE))


def _kick(load_ohms: float | None, evidence: Iterable[Evidence]) -> float | None:
    if load_ohms is None or load_ohms < COIL_OHMS.least:
        return None
    lamp = any(classify(found).named is LineClass.LAMP for found in evidence)
    return KICK_VOLTS if _winding(load_ohms) and not lamp else 0.0


def _winding(ohms: float) -> bool:
    return COIL_OHMS.least <= ohms < COIL_OHMS.greatest


def _decay(wiring: Wiring) -> Decay | None:
    """Return the capacitor behind a slow fall to a tenth, which takes ln 10 time constants, timed with the meter on."""
    fall_s, ohms = wiring.dead.fall_time.value, wiring.dead.line_to_return.value
    if wiring.decay_capacitor is Ternary.NO or fall_s is None or not ohms or fall_s < SLOW_FALL_S:
        return None
    drain = 1 / (1 / ohms + 1 / (wiring.meter_input.value or USUAL_METER_OHMS))
    return Decay(Span.around(ohms, OHMS_TOLERANCE), Span.around(fall_s / log(10) / drain, FALL_TOLERANCE))


def _ripple(evidence: Evidence) -> Ripple | None:
    """Return the half waves behind DC and AC: a full-wave mean is 2/π of the peak, a half-wave mean 1/π."""
    if features(evidence).get(Feature.AC) is not Seen.RIPPLE:
        return None
    taken = max((t for t in evidence.taken if t.span is not None), key=lambda t: abs(t.volts or 0.0))
    span, ac = taken.span, taken.ac_volts
    if span is None or ac is None:
        return None
    full = ac / abs(taken.volts or 1.0) < HALF_WAVE_RATIO
    to_peak = pi / 2 if full else pi
    ends = sorted((abs(span.least) * to_peak, abs(span.greatest) * to_peak))
    return Ripple(Span(*ends), _mains_hz(evidence.structure.frequency_hz, full), full)


def _mains_hz(frequency_hz: float | None, full_wave: bool) -> float:
    """Return 60 Hz where the meter says so; else 50 Hz, whose gaps are the longer."""
    return 60.0 if frequency_hz and frequency_hz / (2 if full_wave else 1) > 55 else 50.0


def _audio(wiring: Wiring, evidence: Iterable[Evidence]) -> bool | None:
    if any(classify(found).named in _AUDIO for found in evidence):
        return True
    return None if wiring.carries_audio is Ternary.UNKNOWN else wiring.carries_audio is Ternary.YES
