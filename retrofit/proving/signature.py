"""What can be recognised at a console by its counts, and who is judged at which level."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from retrofit.proving.chance import LEVEL
from retrofit.proving.engine import Engine
from retrofit.proving.expected import ExpectedPoint
from retrofit.proving.tally import ContactTally


class SignatureKind(StrEnum):
    """What was recognised."""

    CHATTER = "chatter"
    HUM = "hum"
    SLOW_RELEASE = "slow release"
    STUCK = "stuck"
    FLICKER = "flicker"
    DOUBLED = "doubled"
    BLEED = "bleed"
    TOGETHER = "together"


@dataclass(frozen=True, slots=True)
class Signature:
    """What was recognised at a point or a group, by its id.

    `found` and `limit` have the figures, `reason` says where to look first.  It is `enough` when chance or a clumsy
    hand would not show it; else `limit` says how much is needed.
    """

    kind: SignatureKind
    subject: str
    found: str
    limit: str
    reason: str
    enough: bool = True


Contact = tuple[ExpectedPoint, ContactTally]


def contacts_of(engine: Engine) -> list[Contact]:
    """Return the contacts from which something is expected, with their counts."""
    pairs = zip(engine.expected.contacts, engine.contacts, strict=True)
    return [(point, tally) for point, tally in pairs if point.excuse is None]


def level_of(engine: Engine) -> float:
    """Return the level at which each contact and group is judged, so that a whole look keeps to `LEVEL`."""
    return LEVEL / max(1, len(engine.contacts) + len(engine.groups))
