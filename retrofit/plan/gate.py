"""Whether the papers that lead hands into the instrument may be written."""

from __future__ import annotations

from retrofit.plan.model import ConversionPlan


def papers_allowed(plan: ConversionPlan) -> tuple[bool, tuple[str, ...]]:
    """Return whether wiring schedule and putback sheet may be written, and the reasons why not, one sentence each."""
    reasons = tuple(f"{finding.rule} {finding.subject}: {finding.message}" for finding in plan.withholding)
    return not reasons, reasons
