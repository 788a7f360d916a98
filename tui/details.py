"""The few lines about what is under the cursor: a group, a point or a finding."""

from __future__ import annotations

from retrofit.cli.describe import debounce_words, message_words
from retrofit.plan.model import Finding, GroupPlan, PointPlan


def group_lines(group: GroupPlan) -> list[str]:
    """Return a group's pace, debounce, worst times and guarantees."""
    press, release = group.press_latency_us_max / 1000, group.release_latency_us_max / 1000
    return [
        f"{group.name or group.id}: sampled every {group.period_us} µs, busy {group.busy_us:.0f} µs",
        f"press at most {press:.2f} ms, release at most {release:.2f} ms",
        f"debounce {debounce_words(group.debounce, group.period_us)}",
        *group.guarantees,
    ]


def point_lines(plan: PointPlan) -> list[str]:
    """Return what a point sends and where it is read, how it was found, and every dated remark on it."""
    point, found = plan.point, plan.point.found
    name = " ".join(filter(None, (point.name, point.footage)))
    tags = {"strip": found.strip, "tag": found.tag, "wire": found.wire_colour, "photo": found.photo}
    return [
        f"{point.id}{f' ({name})' if name else ''}: {message_words(plan)}; {plan.address or 'no address'}",
        ", ".join([f"condition {found.condition}", *(f"{word} {words}" for word, words in tags.items() if words)]),
        *(f"{note.date.isoformat()} {note.initials}: {note.text}" for note in found.notes),
    ]


def finding_lines(finding: Finding) -> list[str]:
    """Return a finding in full."""
    waived = [f"waived: {finding.waived}"] if finding.waived else []
    return [f"found: {finding.found}", f"allowed: {finding.allowed}", f"remedy: {finding.remedy}", *waived]
