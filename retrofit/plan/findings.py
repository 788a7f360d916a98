"""From rules to findings: every rule is asked, waivers are applied, and useless or forbidden waivers are said."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from retrofit.plan.facts import Facts
from retrofit.plan.model import Finding, Severity
from retrofit.plan.rules import ALL_RULES, rule_named
from retrofit.plan.rules.rule import Rule, Said
from retrofit.survey.job import Waiver

_ORDER = {Severity.ERROR: 0, Severity.WARNING: 1, Severity.NOTE: 2}


def collect_findings(facts: Facts, rules: Sequence[Rule] = ALL_RULES) -> tuple[Finding, ...]:
    """Return all findings, errors first, then in the order of the rules and of the job."""
    plain = [_finding(rule, said) for rule in rules for said in rule.check(facts)]
    waivers = facts.job.waivers
    settled = [_waived(finding, waivers) for finding in plain]
    settled.extend(_about_waivers(plain, waivers))
    return tuple(sorted(settled, key=lambda finding: _ORDER[finding.severity]))


def _finding(rule: Rule, said: Said) -> Finding:
    return Finding(
        rule.id,
        rule.severity,
        said.subject,
        said.found,
        said.allowed,
        said.remedy,
        papers_only=rule.papers_only,
    )


def _matches(waiver: Waiver, finding: Finding) -> bool:
    return waiver.rule == finding.rule and waiver.subject in ("*", finding.subject)


def _waived(finding: Finding, waivers: Sequence[Waiver]) -> Finding:
    rule = rule_named(finding.rule)
    if rule is None or rule.locked:
        return finding
    reasons = [waiver.reason for waiver in waivers if _matches(waiver, finding)]
    return replace(finding, waived=reasons[0]) if reasons else finding


def _about_waivers(findings: Sequence[Finding], waivers: Sequence[Waiver]) -> Iterator[Finding]:
    for number, waiver in enumerate(waivers):
        subject = f"waivers.#{number + 1}"
        rule = rule_named(waiver.rule)
        if rule is None:
            yield _unknown_rule(subject, waiver.rule)
        elif rule.locked:
            yield _locked_rule(subject, waiver.rule)
        elif not any(_matches(waiver, finding) for finding in findings):
            yield _useless(subject, waiver)


def _unknown_rule(subject: str, name: str) -> Finding:
    return Finding(
        "waiver-names-no-rule",
        Severity.ERROR,
        subject,
        f"there is no rule {name!r}{_nearest(name)}",
        "the id of a rule",
        "`retrofit rules` lists them",
    )


def _nearest(name: str) -> str:
    import difflib  # noqa: PLC0415 - only a misspelt name needs it

    near = difflib.get_close_matches(name, [rule.id for rule in ALL_RULES], 1)
    return f"; the nearest is {near[0]!r}" if near else ""


def _locked_rule(subject: str, name: str) -> Finding:
    return Finding(
        "waiver-not-allowed",
        Severity.ERROR,
        subject,
        f"{name!r} is waived",
        "a rule that protects people or somebody else's instrument cannot be waived",
        "take the waiver out and follow the finding's remedy",
    )


def _useless(subject: str, waiver: Waiver) -> Finding:
    return Finding(
        "waiver-not-needed",
        Severity.NOTE,
        subject,
        f"nothing is found by {waiver.rule!r} on {waiver.subject!r}",
        "a waiver for something that is found",
        "take it out",
    )
