"""A rule: what it is called, how much it matters, what it compares, and the check itself.

Rules are data.  A rule's id never changes once published, because jobs name it in their waivers.  A rule that
protects people or somebody else's instrument is locked: no waiver reaches it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from retrofit.plan.facts import Facts
from retrofit.plan.model import Severity


@dataclass(frozen=True, slots=True)
class Said:
    """One thing that a rule has to say: of what, what was found, what is allowed, and the remedy."""

    subject: str
    found: str
    allowed: str
    remedy: str


@dataclass(frozen=True, slots=True)
class Rule:
    """A rule over a planned job.  What a `papers_only` rule says withholds papers, and lets the sketch be written.

    `why` says in a sentence or two what goes wrong otherwise, `remedy` what to do about it in general.
    """

    id: str
    title: str
    severity: Severity
    compares: str
    check: Callable[[Facts], Iterator[Said]]
    locked: bool = False
    papers_only: bool = False
    why: str = ""
    remedy: str = ""
