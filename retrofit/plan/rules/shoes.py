"""Rules about shoes on converter channels: how fine they are, how soon they have sent, and how much of the wire."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import chain

from retrofit.circuits.converter_reading import FINE_STEPS, ShoeReading, shoe_reading
from retrofit.midi.messages import COARSE_BITS, FINE_ABOVE
from retrofit.plan.facts import Facts
from retrofit.plan.model import PointPlan, Severity
from retrofit.plan.rules.rule import Rule, Said
from retrofit.plan.wire_traffic import shoe_messages
from retrofit.survey.contacts import ShoeGroup, ShoePoint, ShoeSensor
from retrofit.timing.shoe_promises import LAST_WITHIN_US
from retrofit.timing.wire import load

COARSE_STEPS = 2**COARSE_BITS
WIRE_SHARE_MOST = 0.5
"""Of a DIN wire that shoes may take while all of them move: notes need the rest (common practice, no source)."""
_TURNING = (ShoeSensor.POTENTIOMETER, ShoeSensor.LDR)


def _shoes(facts: Facts) -> Iterator[tuple[PointPlan, ShoePoint]]:
    return ((plan, plan.point.shoe) for plan in facts.points if plan.point.shoe and plan.point.takes_part)


def _reading(facts: Facts, shoe: ShoePoint) -> ShoeReading:
    board = facts.board
    if board is None:
        return ShoeReading(None, None)
    return shoe_reading(shoe, round(board.figures["converter_bits"].usual), board.figures["supply"].least)


def _not_fine(facts: Facts) -> Iterator[Said]:
    for plan, shoe in _shoes(facts):
        if shoe.bits == COARSE_BITS:
            continue
        reading = _reading(facts, shoe)
        if shoe.sensor not in _TURNING:
            found = f"14 bits are wished for a shoe of sensor {shoe.sensor.value}, which has a few positions"
        elif reading.true_steps is None:
            unknown = "an end of the shoe's travel" if reading.span_counts is None else "the shoe's noise"
            found = f"14 bits are wished, and {unknown} is not known"
        elif reading.true_steps < FINE_STEPS:
            found = f"14 bits are wished, and {_steps_words(reading)}"
        else:
            continue
        yield Said(
            plan.point.id,
            found,
            f"{FINE_STEPS} true steps, four for each value of 7 bits",
            "take bits = 7, or let the reading wander less and the shoe turn its sensor farther",
        )


def _steps_words(reading: ShoeReading) -> str:
    return (
        f"its {reading.span_counts:.0f} counts of travel over {reading.noise_counts:.3g} counts of noise, "
        f"one at least, are {reading.true_steps} true steps"
    )


def _noisy(facts: Facts) -> Iterator[Said]:
    for plan, shoe in _shoes(facts):
        reading = _reading(facts, shoe)
        if shoe.sensor in _TURNING and reading.true_steps is not None and reading.true_steps < COARSE_STEPS:
            yield Said(
                plan.point.id,
                _steps_words(reading),
                f"{COARSE_STEPS} true steps, one for each value of 7 bits",
                "screen the shoe's cable, put 100 nF from the pin to our return, or clean the track",
            )


def _no_fine_half(facts: Facts) -> Iterator[Said]:
    for plan, shoe in _shoes(facts):
        message = plan.shoe
        if message and shoe.bits > COARSE_BITS and shoe.sensor in _TURNING and message.controller >= FINE_ABOVE:
            yield Said(
                plan.point.id,
                f"14 bits are wished on controller {message.controller}",
                f"controllers 0 to {FINE_ABOVE - 1}, whose lower 7 bits go out as the number {FINE_ABOVE} above",
                "choose a controller below 32, or take bits = 7",
            )


def _crowded(facts: Facts) -> Iterator[Said]:
    sent = tuple(chain.from_iterable(shoe_messages(plan.shoe) for plan in facts.points if plan.shoe))
    wanted = facts.job.wanted
    share = load(sent, running_status=False, within_us=wanted.shoe_interval_ms * 1000)
    if wanted.by_din and share > WIRE_SHARE_MOST:
        yield Said(
            "wanted.shoe_interval_ms",
            f"all shoes moving send {len(sent)} messages every {wanted.shoe_interval_ms} ms, {100 * share:.0f} % of "
            "the wire, running status being broken by every note between",
            f"at most {100 * WIRE_SHARE_MOST:.0f} %, so that notes find room",
            "lengthen shoe_interval_ms, take bits = 7 for some of them, or send by USB",
        )


def _late(facts: Facts) -> Iterator[Said]:
    for plan in facts.groups:
        group = facts.group(plan.id)
        if isinstance(group, ShoeGroup) and plan.debounce is None and plan.press_latency_us_max > LAST_WITHIN_US:
            yield Said(
                f"groups.{plan.id}",
                f"the last position of a shoe may be sent {plan.press_latency_us_max / 1000:.1f} ms after it has come "
                "to rest",
                f"{LAST_WITHIN_US // 1000} ms",
                "shorten shoe_interval_ms, or have fewer shoes on the converter",
            )


RULES = (
    Rule(
        "shoe-not-so-fine",
        "A shoe has not the steps for a value of 14 bits",
        Severity.ERROR,
        "counts of travel over the noise with four steps for each value of 7 bits",
        _not_fine,
        why="Finer values than the reading stands for are noise, sent twice as often as the shoe's own movement.",
        remedy="measure both ends and the noise; where they give too few steps, 7 bits say all there is",
    ),
    Rule(
        "shoe-noisy",
        "A shoe's noise is coarser than a value of 7 bits",
        Severity.WARNING,
        "counts of travel over the noise with 128",
        _noisy,
        why="A movement must leave the noise before it is believed, so that such a shoe sends in leaps.",
        remedy="screen the cable, filter at the pin, or clean the track",
    ),
    Rule(
        "shoe-without-fine-half",
        "A controller has no fine half",
        Severity.ERROR,
        "controllers of shoes of 14 bits with 0 to 31 (MIDI 1.0, Table III)",
        _no_fine_half,
        why="Only the controllers 0 to 31 have a second one for their lower 7 bits, 32 above them.",
        remedy="choose a controller below 32, or take 7 bits",
    ),
    Rule(
        "shoes-crowd-the-wire",
        "Moving shoes take too much of the wire",
        Severity.WARNING,
        "bytes of all shoes in an interval with half of the DIN wire",
        _crowded,
        why="Notes go first, but what is left over must carry them: a full wire makes every shoe lag behind the foot.",
        remedy="lengthen the interval between a shoe's values, send 7 bits, or use USB",
    ),
    Rule(
        "shoe-ends-late",
        "A shoe's last position is sent late",
        Severity.WARNING,
        "time from rest to the last message with 50 ms",
        _late,
        why="Until then the sound stands where the foot no longer is.",
        remedy="shorten the interval between a shoe's values",
    ),
)
