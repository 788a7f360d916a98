"""What stands at the head of every list: which job and plan it is of, and what to be careful about."""

from __future__ import annotations

from retrofit.plan.model import ConversionPlan

CAUTIONS = (
    "low-voltage wiring only; mains work is for people licensed for it, as local law says",
    "unplug the console first: a switch is not isolation; then prove with a tried meter that lines are dead",
    "never remove or lift a protective earth; keep every fuse as found",
    "if in doubt stop, photograph and ask; the rules of the place come before this list",
)


def identity_remarks(plan: ConversionPlan, title: str) -> list[tuple[str, str]]:
    """Return the leading remarks of a list of a plan."""
    return [
        ("list", title),
        ("job", plan.job.instrument.name),
        ("digest", plan.digest),
        ("board", plan.board),
        *(("caution", words) for words in CAUTIONS),
    ]
