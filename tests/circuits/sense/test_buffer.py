"""The buffer to a converter: a worked shoe, resolution that may honestly be claimed, refusals and unknowns."""

from __future__ import annotations

from dataclasses import replace

import pytest

from retrofit.circuits.result import Span
from retrofit.circuits.sense import buffer
from retrofit.circuits.sense.design import Verdict
from retrofit.circuits.sense.loading import SHIFT, parallel_ohms, shift_share
from retrofit.circuits.sense.tap_network import node_volts
from tests.circuits.sense.taps import REGISTER_INPUT, judged, line, result

SHOE = line(
    Span.exact(1.0), Span.exact(10.81), idle_ohms=Span(1.8e3, 2e3), keyed_ohms=Span(19e3, 19.82e3), keyed_amps=0.0
)
TWELVE_BITS = buffer.Converter(12, Span.exact(3.3), 6.0)
AMPLIFIER = buffer.buffer_input(Span(4.5, 5.5))
KNOWN = {"organ_supply_ohms": 1.0}


def test_worked_shoe_volts() -> None:
    """Ex 17: 2 to 200 kΩ to the return under 22 kΩ to 12 V: 1.00 to 10.81 V from at most 19.82 kΩ."""
    assert round(node_volts(12, 0, 22e3, 2e3), 2) == 1.00
    assert round(node_volts(12, 0, 22e3, 200e3), 2) == 10.81
    assert round(parallel_ohms(22e3, 200e3)) == 19820


def test_worked_shoe_source_error() -> None:
    """Ex 17: the source costs 1.94 % on 1 MΩ, 0.20 % on 10 MΩ."""
    assert round(100 * shift_share(19.82e3, 1e6), 2) == 1.94
    assert round(100 * shift_share(19.82e3, 10e6), 2) == 0.20
    found = buffer.design(SHOE, AMPLIFIER, converter=TWELVE_BITS, **KNOWN)
    assert result(found, f"{SHIFT}, keyed").value < 0.20


def test_worked_shoe_resolution() -> None:
    """Ex 17: 9.81 V scaled by 0.2775 are 3379 counts, 26.6 a controller step, 563 clean steps, 9.1 bits."""
    volts = 12 * 200 / 222 - 1.0
    counts = buffer.span_counts(volts, 0.2775, 3.3, 12)
    assert round(volts * 0.2775, 3) == 2.723
    assert counts == 3379
    assert round(counts / 127, 1) == 26.6
    assert buffer.clean_steps(counts, 6) == 563
    assert round(buffer.honest_bits(563), 1) == 9.1
    assert buffer.PAIR_FACTOR * buffer.CONTROLLER_STEPS <= 563


def test_the_designed_shoe_is_near_the_worked_one() -> None:
    """Resistors of 1 % stay below the reference and leave at least nine bits, said as such."""
    found = buffer.design(SHOE, AMPLIFIER, converter=TWELVE_BITS, **KNOWN)
    assert result(found, buffer.RANGE).passes
    steps = result(found, buffer.STEPS)
    assert 512 <= steps.value <= 3.3 / 3.3 * 4096 * 9.81 / 10.81 / 6
    assert "9." in found.remarks[1]
    assert "a 14-bit pair may be sent" in found.remarks[1]
    assert found.parts[0].value == 10e6
    assert found.verdict is Verdict.GOOD


def test_ten_bits_are_claimed_as_what_they_are() -> None:
    """Ten bits at the greatest reference and the least scale, six counts of noise: enough for a controller."""
    found = buffer.design(SHOE, AMPLIFIER, converter=buffer.Converter(10, Span(4.5, 5.5), 6.0), **KNOWN)
    series, lower = found.parts[0].value * 1.01, found.parts[1].value * 0.99
    counts = int(9.81 * lower / (series + lower) / 5.5 * 1024)
    assert result(found, buffer.STEPS).value == counts // 6
    assert 100 < counts // 6 < 512
    assert "would tell no more" in found.remarks[1]


def test_a_noisy_converter_fails() -> None:
    """With 40 counts of noise fewer than 128 steps are left, and none at all are worth no bits."""
    found = buffer.design(SHOE, AMPLIFIER, converter=replace(TWELVE_BITS, noise_counts=40.0), **KNOWN)
    assert judged(found, buffer.STEPS).verdict is Verdict.FAILS
    assert buffer.honest_bits(0) == 0.0


def test_an_input_that_leaks_too_much_fails() -> None:
    """The microampere of a logic input through megohms moves the level by more than 5 %; a nanoampere does not."""
    good = buffer.design(SHOE, AMPLIFIER, converter=TWELVE_BITS, **KNOWN)
    leaky = buffer.design(SHOE, REGISTER_INPUT, converter=TWELVE_BITS, **KNOWN)
    assert judged(good, buffer.BIAS).verdict is Verdict.GOOD
    assert judged(leaky, buffer.BIAS).verdict is Verdict.FAILS


def test_unknown_noise_stays_unknown() -> None:
    """Without a noise reading no resolution is claimed."""
    found = buffer.design(SHOE, AMPLIFIER, converter=replace(TWELVE_BITS, noise_counts=None), **KNOWN)
    assert judged(found, buffer.STEPS).verdict is Verdict.UNKNOWN
    assert len(found.remarks) == 1


@pytest.mark.parametrize(
    ("changed", "reason"),
    [({"carries_audio": True}, "sound"), ({"kick_volts": 50.0}, "kicks"), ({"idle": Span(-1.0, 0.0)}, "cannot read")],
)
def test_refusals(changed: dict[str, object], reason: str) -> None:
    """Audio, kicks and negative ends are refused with the reason."""
    found = buffer.design(line(**changed), AMPLIFIER, converter=TWELVE_BITS)  # type: ignore[arg-type]  # cases by name
    assert reason in found.refusals[0]
    assert found.verdict is Verdict.FAILS


def test_an_unread_end_stays_unknown() -> None:
    """An end of the movement that was not read leaves the design undecided."""
    found = buffer.design(line(keyed=None), AMPLIFIER, converter=TWELVE_BITS)
    assert found.verdict is Verdict.UNKNOWN
    assert found.parts == ()
