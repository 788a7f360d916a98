"""What every finding means: those of the rules, and those about a job's waivers."""

from __future__ import annotations

from dataclasses import dataclass

from retrofit.plan.model import Severity
from retrofit.plan.rules import ALL_RULES
from retrofit.plan.rules.rule import Rule

_CONSEQUENCES = {
    Severity.ERROR: "nothing is built or recorded while it stands",
    Severity.WARNING: "it stops nothing and asks for thought",
    Severity.NOTE: "it stops nothing and informs",
}
_PAPERS_ONLY = "the sketch is built, and the papers that lead hands into the instrument are withheld while it stands"
_LOCKED = "no waiver reaches it: it protects people, somebody else's instrument, or what cannot be built at all"
_NO_RULE = "no waiver reaches it: it is about the waivers themselves"
_WAIVABLE = "a job may waive it with a reason; these lines in the job file do it, for all subjects or for one:"


@dataclass(frozen=True, slots=True)
class Explained:
    """A finding in general: what is compared, why, what follows, what to do, and how it is waived if it can be."""

    id: str
    title: str
    severity: Severity
    compares: str
    why: str
    remedy: str
    consequence: str
    waiver: str
    waiver_lines: tuple[str, ...] = ()


def _of_rule(rule: Rule) -> Explained:
    return Explained(
        rule.id,
        rule.title,
        rule.severity,
        rule.compares,
        rule.why,
        rule.remedy,
        _PAPERS_ONLY if rule.papers_only else _CONSEQUENCES[rule.severity],
        _LOCKED if rule.locked else _WAIVABLE,
        () if rule.locked else _waiver_lines(rule.id),
    )


def _waiver_lines(rule: str) -> tuple[str, ...]:
    return ("[[waivers]]", f'rule = "{rule}"', 'subject = "*"', 'reason = "who agreed, when, and why"')


def _of_waivers(name: str, severity: Severity, title: str, why: str, remedy: str) -> Explained:
    compares = "the waivers of the job with the rules and with what they find"
    return Explained(name, title, severity, compares, why, remedy, _CONSEQUENCES[severity], _NO_RULE)


_ABOUT_WAIVERS = (
    _of_waivers(
        "waiver-names-no-rule",
        Severity.ERROR,
        "A waiver names a rule that there is not",
        "Whoever wrote it believes that a finding is settled, and it is not.",
        "correct the id; `retrofit rules` lists all of them",
    ),
    _of_waivers(
        "waiver-not-allowed",
        Severity.ERROR,
        "A rule is waived that cannot be waived",
        "A locked rule protects people, somebody else's instrument, or what cannot be built; no reason changes that.",
        "take the waiver out and follow the finding's own remedy",
    ),
    _of_waivers(
        "waiver-not-needed",
        Severity.NOTE,
        "A waiver settles nothing",
        "A waiver that outlives its finding would hide the same finding when it comes back for another reason.",
        "take it out",
    ),
)

EXPLAINED = {found.id: found for found in (*map(_of_rule, ALL_RULES), *_ABOUT_WAIVERS)}
"""Every finding by its id."""
