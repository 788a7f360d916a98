"""A job description that does not fit the board is said with what would: without remarks, or none."""

from __future__ import annotations

import pytest

from retrofit.plan.model import Finding
from tests.plan.jobs import FIRING, plan_of

RULE = "description-too-large"


def findings(text: str) -> list[Finding]:
    """Return what the rule says of a job."""
    return [finding for finding in plan_of(text).findings if finding.rule == RULE]


def test_the_remedy_says_what_would_fit() -> None:
    """The finding names the wish, the bytes of each smaller one, and it stops the build."""
    (found,) = findings(FIRING[RULE])
    assert found.subject == "wanted.stored_description"
    assert "'without-remarks' (" in found.remedy
    assert "'none' (0 bytes)" in found.remedy
    assert found in plan_of(FIRING[RULE]).errors


@pytest.mark.parametrize(
    "line", ['stored_description = "without-remarks"', 'stored_description = "none"', 'board = "atmega2560"']
)
def test_what_the_remedy_says_is_so(line: str) -> None:
    """Without remarks, without a description, or on a board with more memory there is no such finding."""
    mended = FIRING[RULE].replace('board = "atmega32u4"', line if "board" in line else f'board = "atmega32u4"\n{line}')
    assert findings(mended) == []
