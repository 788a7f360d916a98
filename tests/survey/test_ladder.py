"""Ladders and noise in a job file: what belongs together and what contradicts itself."""

from __future__ import annotations

from typing import Any

import pytest
from pydantic import ValidationError

from retrofit.survey.contacts import ShoePoint


def shoe(**found: Any) -> ShoePoint:
    """Return a shoe as a job file would say it."""
    return ShoePoint.model_validate({"id": "swell", **found})


LADDER = {"resistors": ["1k", "1k5"], "to_supply": "4k7", "tolerance": 0.01}


def test_a_ladder_keeps_its_readings_as_typed() -> None:
    """Resistors are read as at any bench."""
    found = shoe(sensor="ladder", ladder=LADDER).ladder
    assert found is not None
    assert [each.value for each in found.resistors] == [1000, 1500]
    assert (found.to_supply.value, str(found.to_supply)) == (4700, "4k7")


@pytest.mark.parametrize(
    ("found", "said"),
    [
        ({"sensor": "ladder"}, "without ladder"),
        ({"sensor": "potentiometer", "ladder": LADDER}, "with ladder"),
        ({"sensor": "ladder", "ladder": LADDER, "stages": 4}, "with stages"),
        ({"sensor": "ladder", "ladder": {"resistors": ["1k"]}}, "1 resistors and 0 readings"),
        ({"sensor": "potentiometer", "noise_counts": 2, "noise": "3 mV"}, "noise_counts = 2 beside a noise of 3 mV"),
        ({"sensor": "potentiometer", "bits": 10}, "7 or 14"),
    ],
)
def test_contradictions_are_refused(found: dict[str, Any], said: str) -> None:
    """What does not belong together is named."""
    with pytest.raises(ValidationError, match=said):
        shoe(**found)
