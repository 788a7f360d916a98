"""What is promised of shoes on converter channels: when the last position is sent, how fine, and which breaks show."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import ceil

from retrofit.circuits.converter_reading import ShoeReading, measured_ends, shoe_reading, whole_readings
from retrofit.survey.contacts import ShoePoint, ShoeSensor
from retrofit.timing.words import ceil_ms

LAST_WITHIN_US = 50_000
"""From a shoe's coming to rest until its last value has been sent (common practice, no source)."""
STEADY_US = 10_000
"""How long a position of a ladder must be read, as with stages that are contacts (common practice, no source)."""
READINGS_LEAST, READINGS_MOST = 2, 255
COARSE_BITS = 7
"""What a single controller carries (MIDI 1.0)."""


def readings_in_a_row(period_us: int) -> int:
    """Return how many readings of a ladder, one every `period_us`, must agree: those that span the time, and one."""
    return min(max(READINGS_LEAST, ceil(STEADY_US / period_us) + 1), READINGS_MOST)


def settling_us(shoes: Sequence[ShoePoint], period_us: int) -> float:
    """Return what a ladder among these shoes adds to the latency: the readings that must agree with the first."""
    has_ladder = any(shoe.sensor is ShoeSensor.LADDER for shoe in shoes)
    return float((readings_in_a_row(period_us) - 1) * period_us) if has_ladder else 0.0


def sent_bits(shoes: Sequence[ShoePoint]) -> int:
    """Return the most bits that one of these shoes sends."""
    return max((shoe.bits for shoe in shoes), default=COARSE_BITS)


def shoe_sentences(
    shoes: Sequence[ShoePoint], latency_us: float, interval_us: float, converter_bits: int, reference_volts: float
) -> tuple[str, ...]:
    """Return what is promised of a group's shoes, one sentence each; give the least reference of the converter."""
    return (
        f"The last position of a shoe is sent within {ceil_ms(latency_us)} of its coming to rest, on an idle wire.",
        f"Values of one shoe leave {ceil_ms(interval_us)} apart at least, and a newer one takes the place of one that "
        "waits.",
        *(words for shoe in shoes for words in _of_shoe(shoe, shoe_reading(shoe, converter_bits, reference_volts))),
    )


def _of_shoe(shoe: ShoePoint, reading: ShoeReading) -> Iterator[str]:
    if shoe.sensor in (ShoeSensor.STEPS, ShoeSensor.LADDER):
        return
    if reading.true_bits is not None:
        sent = "a pair of controllers" if shoe.bits > COARSE_BITS else "one controller"
        yield (
            f"{shoe.id} has {reading.true_steps} true steps, that is {reading.true_bits:.1f} bits, and sends {sent} "
            f"of {shoe.bits} bits."
        )
    yield _break_words(shoe)


def _break_words(shoe: ShoePoint) -> str:
    low, high = whole_readings(shoe)
    told = [f"below {low:.3f}"] if low > 0 else []
    told += [f"above {high:.3f}"] if high < 1 else []
    if not told:
        reason = "reach the ends of the converter" if measured_ends(shoe) else "are not measured"
        return f"A broken wire of {shoe.id} is not told from a position, because the ends of its travel {reason}."
    return (
        f"A reading of {shoe.id} {' or '.join(told)} of full scale is that of a broken or shorted wire: the last value "
        "stays, and the board counts it."
    )
