"""Volts on a line that is said to be ours, and volts that are no longer low, stop the work."""

from __future__ import annotations

import pytest

from retrofit.plan.model import Finding
from tests.plan.jobs import DIVIDER, GREAT, HEAD, ORGANS, OURS, SOUND, keys, plan_of

SIGNED = 'date = 2026-03-07, initials = "QT"'


def _said(rule: str, text: str) -> list[Finding]:
    return [finding for finding in plan_of(text).findings if finding.rule == rule]


def _reading(volts: str, load: str = "meter", key: str = "volts") -> str:
    return f'readings = [{{ line = "36", state = "keyed", load = "{load}", {key} = "{volts}", {SIGNED} }}]\n'


@pytest.mark.parametrize(
    ("wiring", "words"),
    [
        ('idle = { volts = "-0,6 V" }\n', "'-0,6 V' DC (idle.volts)"),
        ('keyed = { ac_volts = "6,3 V" }\n', "'6,3 V' AC (keyed.ac_volts)"),
        (_reading("12,4 V"), "'12,4 V' DC (readings.#1.volts)"),
        (_reading("0,51", key="ac_volts"), "'0,51' AC (readings.#1.ac_volts)"),
    ],
)
def test_volts_on_a_line_of_ours_are_a_contradiction(wiring: str, words: str) -> None:
    """Whichever of the readings shows them, of either sign: the worst is named with its place in the file."""
    (said,) = _said("line-is-driven", HEAD + GREAT + keys() + OURS + wiring)
    assert said.subject == "groups.great.wiring.owner"
    assert words in said.found


@pytest.mark.parametrize(
    "wiring",
    [
        "",
        'idle = { volts = "0,5 V" }\n',
        'idle = { volts = "wanders" }\nkeyed = { volts = "unknown" }\n',
        _reading("12,0 V", load="10k-to-supply"),
    ],
)
def test_a_line_of_ours_without_volts_of_its_own_is_not_accused(wiring: str) -> None:
    """Up to half a volt may be picked up; what was read with a resistor to the supply is fed by that resistor."""
    assert _said("line-is-driven", HEAD + GREAT + keys() + OURS + wiring) == []


def test_volts_on_a_line_of_the_organ_are_no_contradiction() -> None:
    """The rule is about lines that are said to be ours."""
    assert _said("line-is-driven", HEAD + GREAT + keys() + ORGANS + DIVIDER) == []


@pytest.mark.parametrize(
    ("content", "subject"),
    [
        (keys() + ORGANS.replace('"12,4 V"', '"60,1 V"'), "groups.great.wiring"),
        (keys() + ORGANS.replace('"12,4 V"', '"-61 V"'), "groups.great.wiring"),
        (keys() + ORGANS.replace('"12,4 V"', '"12,4 V", ac_volts = "25,1 V"'), "groups.great.wiring"),
        (keys() + ORGANS + _reading("230 V", key="ac_volts"), "groups.great.wiring"),
        ('[[supplies]]\nid = "rank"\nvolts_full = "-110 V"\n' + keys() + ORGANS, "supplies.rank"),
    ],
)
def test_volts_above_the_lower_limits_are_left_to_licensed_people(content: str, subject: str) -> None:
    """60 V DC and 25 V AC are the lower values of IEC 60364-4-41 cl. 414, and the ceiling of SELV is named beside."""
    (said,) = _said("voltage-not-low", HEAD + GREAT + content + DIVIDER)
    assert said.subject == subject
    assert "60 V DC and 25 V AC" in said.allowed
    assert "120 V DC or 50 V AC (IEC 61140)" in said.allowed
    assert "licensed person" in said.remedy


@pytest.mark.parametrize(
    "content",
    [
        SOUND,
        HEAD + GREAT + keys() + ORGANS.replace('"12,4 V"', '"60,0 V", ac_volts = "25,0 V"') + DIVIDER,
        HEAD + GREAT + '[[supplies]]\nid = "rank"\nvolts_full = "-60 V"\nfuse = "80 A"\n' + keys() + ORGANS + DIVIDER,
    ],
)
def test_low_volts_are_not_accused(content: str) -> None:
    """The limits themselves are allowed."""
    assert _said("voltage-not-low", content) == []
