"""The class of a line: those that the readings exclude, those that they fit, and how sure that makes it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from retrofit.circuits.line.classes import SIGNATURES, LineClass
from retrofit.circuits.line.contradictions import Contradiction, contradictions
from retrofit.circuits.line.evidence import Evidence
from retrofit.circuits.line.features import Feature, Seen, features


class Confidence(StrEnum):
    """How far a class may be relied on."""

    SURE = "sure"
    LIKELY = "likely"
    OPEN = "open"
    CONTRADICTED = "contradicted"


@dataclass(frozen=True, slots=True)
class Classified:
    """What a line is.

    `named` is the class that decides how the line may be touched; None as long as several may be or the readings
    contradict each other.  `also` are further classes that fit as well.  `candidates` are all that are not excluded.
    `reasons` are the features that speak for `named`.
    """

    named: LineClass | None
    confidence: Confidence
    also: tuple[LineClass, ...] = ()
    candidates: tuple[LineClass, ...] = ()
    reasons: tuple[str, ...] = ()
    contradictions: tuple[Contradiction, ...] = ()


def candidates(seen: Mapping[Feature, Seen]) -> tuple[LineClass, ...]:
    """Return the classes that nothing excludes, in the order in which they decide."""
    return tuple(
        line_class
        for line_class, signature in SIGNATURES.items()
        if all(seen[feature] in allowed for feature, allowed in signature.allowed.items() if feature in seen)
    )


def unsettled(seen: Mapping[Feature, Seen], line_class: LineClass) -> tuple[Feature, ...]:
    """Return the features of a class that are not known yet."""
    return tuple(feature for feature in SIGNATURES[line_class].allowed if feature not in seen)


def classify(evidence: Evidence) -> Classified:
    """Return the class of the line.

    It is sure when every class is either excluded or fits in all its features; likely when one alone is left that has
    not been tested in full.
    """
    seen = features(evidence)
    left = candidates(seen)
    fitting = tuple(line_class for line_class in left if not unsettled(seen, line_class))
    wrong = contradictions(evidence)
    if wrong:
        return Classified(None, Confidence.CONTRADICTED, candidates=left, contradictions=wrong)
    if left and fitting == left:
        return Classified(left[0], Confidence.SURE, left[1:], left, _reasons(seen, left[0]))
    if len(left) == 1 and seen:
        return Classified(left[0], Confidence.LIKELY, (), left, _reasons(seen, left[0]))
    return Classified(None, Confidence.OPEN, candidates=left)


def _reasons(seen: Mapping[Feature, Seen], line_class: LineClass) -> tuple[str, ...]:
    return tuple(f"{feature}: {seen[feature]}" for feature in SIGNATURES[line_class].allowed if feature in seen)
