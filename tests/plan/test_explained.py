"""Every finding can be explained without a job."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import retrofit.plan
from retrofit.plan.explained import EXPLAINED
from retrofit.plan.rules import ALL_RULES
from retrofit.plan.rules.rule import Rule
from tests.plan.jobs import FIRING, plan_of


@pytest.mark.parametrize("rule", ALL_RULES, ids=lambda rule: rule.id)
def test_every_rule_says_why_and_what_to_do(rule: Rule) -> None:
    """One or two plain sentences why, and a remedy, on every rule."""
    explained = EXPLAINED[rule.id]
    assert re.fullmatch(r"[A-Z].{30,300}\.", explained.why)
    assert 1 <= len(re.findall(r"[.!?](?: |$)", explained.why)) <= 2
    assert len(explained.remedy) >= 10


def test_every_finding_that_the_program_makes_is_explained() -> None:
    """Ids that stand in the source of the plan as findings are all known, those about waivers too."""
    source = (Path(retrofit.plan.__path__[0]) / "findings.py").read_text(encoding="utf-8")
    about_waivers = set(re.findall(r'"(waiver-[a-z-]+)"', source))
    assert len(about_waivers) == 3
    assert set(EXPLAINED) == {rule.id for rule in ALL_RULES} | about_waivers


def test_the_waiver_that_is_shown_works() -> None:
    """The lines told for a rule that may be waived, put into its job, settle its finding."""
    for rule in ALL_RULES:
        lines = EXPLAINED[rule.id].waiver_lines
        assert bool(lines) is not rule.locked
        if lines:
            plan = plan_of(FIRING[rule.id] + "\n" + "\n".join(lines) + "\n")
            waived = [finding.waived for finding in plan.findings if finding.rule == rule.id]
            assert waived
            assert all(waived)
