"""What to read next on a line: the shortest list that could settle its class, the lightest load first.

A resistor is proposed only where no class that the line may still be forbids it.  The one of 10 kΩ comes only after
100 kΩ has moved the line by less than a tenth, and the one to supply only on lines known to be keyed to return.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations

from retrofit.circuits.line.classes import SIGNATURES, LineClass
from retrofit.circuits.line.classify import candidates, unsettled
from retrofit.circuits.line.contradictions import contradictions
from retrofit.circuits.line.evidence import LOAD_OHMS, Evidence
from retrofit.circuits.line.features import NOTHING_VOLTS, Feature, Seen, features
from retrofit.survey.readings import Load, State

MOVED_SHARE = 0.10
"""Above this share taken away by 100 kΩ, 10 kΩ is not tried; common practice, no source."""
SETTLED_SHARE = 0.10
"""A load that certainly takes this share away tells the source resistance well enough."""


@dataclass(frozen=True, slots=True)
class Step:
    """One reading or question.  Readings of the line have a state and a load; others the key of a field.

    `key` names a field of the readings taken once per group, or `other-line`.
    """

    words: str
    state: State | None = None
    load: Load | None = None
    key: str = ""


def _reading(state: State, load: Load) -> Step:
    with_load = "the meter alone" if load is Load.METER else f"{load} to return beside the meter"
    if load is Load.TO_SUPPLY:
        with_load = "10k to the supply beside the meter"
    both = ", DC and AC volts" if load is Load.METER else ", DC volts"
    return Step(f"the line {state} with {with_load}{both}", state, load)


_STEPS: Mapping[Feature, Step] = {
    Feature.MOVES: Step("does the console move this control by itself (piston, combination)?", key="moves_by_itself"),
    Feature.SWEEPS: Step("do the volts sweep while the control is moved slowly (meter alone)?", key="sweeps"),
    Feature.FALL: Step("time from release until a tenth is left, the meter alone", key="fall_time"),
    Feature.RHYTHM: Step("frequency on the meter's Hz range, the meter alone", key="frequency"),
    Feature.OTHER_LINE: Step("another line across a break (13, the top) keyed, the meter alone", key="other-line"),
    Feature.BUS: Step("power off: ohms from the bus to the post that feeds it", key="bus_to_supply"),
    Feature.TO_RETURN: Step("power off: ohms from the line to return, nothing pressed", key="line_to_return"),
    Feature.TO_SUPPLY: Step("power off: ohms from the line to the supply, nothing pressed", key="line_to_supply"),
    Feature.SERIES: Step("power off: ohms from the bus to the line, key down", key="series"),
    Feature.DIODE: Step("power off: diode test from bus to line both ways, key down", key="diode"),
    Feature.LEAVES: Step("power off: how many contacts one key has", key="leaves"),
}
"""Steps that take no resistor, in the order in which they are asked when nothing else decides."""

_READ_FROM_THE_LINE = (Feature.IDLE, Feature.KEYED, Feature.CHANGE, Feature.AC, Feature.SOURCES)


def next_step(evidence: Evidence, refused: Collection[Step] = ()) -> Step | None:
    """Return the lightest useful step, or None when nothing more would help; `refused` are not asked again."""
    return next(iter(next_steps(evidence, refused)), None)


def next_steps(evidence: Evidence, refused: Collection[Step] = ()) -> tuple[Step, ...]:
    """Return the shortest list of steps by which every class that is left is tested once, the lightest first.

    When the class is settled the list holds the loads that still tell a source resistance.  Readings that contradict
    each other have to be put right first: then there is no next step.
    """
    if contradictions(evidence):
        return ()
    meter_alone = [_reading(state, Load.METER) for state in State if _incomplete(evidence, state)]
    if meter_alone:
        return tuple(step for step in meter_alone if step not in refused)
    seen = features(evidence)
    left = candidates(seen)
    open_classes = {c: unsettled(seen, c) for c in left if unsettled(seen, c)}
    asked = {f: s for f in _wanted(open_classes) if (s := _step(f, evidence, left)) is not None and s not in refused}
    chosen = _shortest(open_classes, asked)
    return chosen or tuple(step for step in _source_steps(evidence, left) if step not in refused)


def steps_again(evidence: Evidence) -> tuple[Step, ...]:
    """Return the readings that were taken of the line, as steps to take them again, the one taken longest ago first."""
    latest = dict.fromkeys((taken.state, taken.load) for taken in reversed(evidence.taken))
    return tuple(_reading(state, load) for state, load in reversed(latest))


def may_load(evidence: Evidence, state: State, load: Load) -> bool:
    """Return whether a load may be put on the line in a state, as far as the readings know it."""
    return _may_load(evidence, candidates(features(evidence)), state, load)


def _incomplete(evidence: Evidence, state: State) -> bool:
    """Return whether the meter alone has still to be read: its DC, or the AC beside it."""
    taken = evidence.at(state)
    return taken is None or taken.ac_volts is None or (taken.volts is None and not taken.wanders)


def _wanted(open_classes: Mapping[LineClass, tuple[Feature, ...]]) -> list[Feature]:
    """Return the features that open classes ask for, the lightest first."""
    asked = {feature for features in open_classes.values() for feature in features}
    return [feature for feature in (*_STEPS, *_READ_FROM_THE_LINE) if feature in asked]


def _step(feature: Feature, evidence: Evidence, left: Collection[LineClass]) -> Step | None:
    """Return the step that tells a feature, or None when there is none that is safe."""
    match feature:
        case Feature.IDLE:
            steps: Iterator[Step] = _loads(evidence, left, State.IDLE, (Load.MEGOHM,))
        case Feature.SOURCES:
            steps = _source_steps(evidence, left)
        case _ if feature in _STEPS:
            return _STEPS[feature]
        case _:
            return None
    return next(steps, None)


def _source_steps(evidence: Evidence, left: Collection[LineClass]) -> Iterator[Step]:
    """Yield the loads that still tell the source resistance of a state, the lightest of both states first."""
    open_states = [state for state in State if _source_is_open(evidence, state)]
    for load in LOAD_OHMS:
        for state in open_states:
            yield from _loads(evidence, left, state, (load,))
    yield from _loads(evidence, left, State.KEYED, (Load.TO_SUPPLY,))


def _source_is_open(evidence: Evidence, state: State) -> bool:
    """Return whether there are volts to load, and no load yet has certainly moved them enough."""
    taken = evidence.at(state)
    if taken is None or taken.volts is None or abs(taken.volts) <= max(NOTHING_VOLTS, taken.error_volts):
        return False
    return not any(_certainly_moved(evidence, state, load) for load in LOAD_OHMS)


def _certainly_moved(evidence: Evidence, state: State, load: Load) -> bool:
    alone, loaded = evidence.at(state), evidence.at(state, load)
    if alone is None or loaded is None or alone.volts is None or loaded.volts is None:
        return False
    least = max(abs(alone.volts) - alone.error_volts, 0.0)
    return abs(loaded.volts) + loaded.error_volts <= (1 - SETTLED_SHARE) * least


def _loads(evidence: Evidence, left: Collection[LineClass], state: State, loads: Collection[Load]) -> Iterator[Step]:
    for load in loads:
        if evidence.at(state, load) is None and _may_load(evidence, left, state, load):
            yield _reading(state, load)


def _may_load(evidence: Evidence, left: Collection[LineClass], state: State, load: Load) -> bool:
    if load is Load.METER:
        return True
    if not left or any(load in SIGNATURES[line_class].forbidden for line_class in left):
        return False
    if any(_incomplete(evidence, either) for either in State):
        return False
    match load:
        case Load.TEN_KILOHM:
            moved = evidence.moved_share(state, Load.HUNDRED_KILOHM)
            return moved is not None and moved < MOVED_SHARE
        case Load.TO_SUPPLY:
            return features(evidence).get(Feature.TO_SUPPLY) not in (None, Seen.OPEN)
        case _:
            return True


def _shortest(open_classes: Mapping[LineClass, tuple[Feature, ...]], asked: Mapping[Feature, Step]) -> tuple[Step, ...]:
    """Return the fewest steps that test every class which any step can test; of equal lists the lightest."""
    masks = {
        feature: sum(1 << place for place, wanted in enumerate(open_classes.values()) if feature in wanted)
        for feature in asked
    }
    all_of_them = 0
    for mask in masks.values():
        all_of_them |= mask
    for size in range(len(masks) + 1):
        for chosen in combinations(masks, size):
            tested = 0
            for feature in chosen:
                tested |= masks[feature]
            if tested == all_of_them:
                return tuple(dict.fromkeys(asked[feature] for feature in chosen))
    return ()
