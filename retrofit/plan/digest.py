"""The digest of a plan: a short name for what the board does and what its points are called.

It stands on every page and inside the controller.  Remarks, conditions and progress do not change it, because they
do not change the board; nor does how much of the job the board keeps to be read back.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Sequence

from retrofit.plan.model import GroupPlan, PointPlan
from retrofit.scan.layout import Lane
from retrofit.survey.contacts import ShoePoint
from retrofit.survey.instrument import Wanted

DIGEST_LENGTH = 16
"""Hexadecimal digits: 64 bits, far more than the plans that one workshop will ever make."""


def plan_digest(
    instrument: str,
    wanted: Wanted,
    tick_us: int,
    points: Iterable[PointPlan],
    groups: Iterable[GroupPlan],
    lanes: Iterable[Lane],
    front_ends: Sequence[str] = (),
) -> str:
    """Return the digest as lower-case hexadecimal (SHA-256, FIPS 180-4, cut to 64 bits).

    The lanes bring the level that means "on" of every contact, `front_ends` what is done beyond the usual reading.
    """
    content = {
        "instrument": instrument,
        "wanted": wanted.model_dump(mode="json", exclude={"stored_description"}),
        "tick_us": tick_us,
        "points": [_point_content(point) for point in points],
        "groups": [_group_content(group) for group in groups],
        "inverted": [lane.invert for lane in lanes],
    }
    if front_ends:
        content["front_ends"] = list(front_ends)
    text = json.dumps(content, ensure_ascii=True, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()[:DIGEST_LENGTH]


def _point_content(plan: PointPlan) -> list[object]:
    message = [plan.message.on.hex(), plan.message.off.hex()] if plan.message else None
    shoe = [plan.shoe.channel, plan.shoe.controller, plan.shoe.bits] if plan.shoe else None
    travel = _travel(plan.point.shoe) if plan.point.shoe else None
    return [plan.point.id, plan.point.name, str(plan.address), plan.point.closed_at_rest, message, shoe, travel]


def _travel(shoe: ShoePoint) -> dict[str, object]:
    """What a shoe's readings are turned into values by; what is not said of it is left out."""
    said = shoe.model_dump(mode="json", include=_SAID, exclude_defaults=True)
    return shoe.model_dump(mode="json", include=_TRAVEL) | said


_SAID = {"noise_counts", "noise", "ladder"}
_TRAVEL = {"sensor", "closed_reading", "open_reading", "curve", "stages", "style"}


def _group_content(group: GroupPlan) -> list[object]:
    bounce = group.debounce
    counts = [bounce.family.value, bounce.press, bounce.release, bounce.hold] if bounce else None
    return [group.id, group.interface, group.period_us, group.phase, counts]
