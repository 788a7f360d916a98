"""What a diagnosis makes of a run, in words."""

from __future__ import annotations

from retrofit.plan.model import ConversionPlan
from retrofit.proving.diagnosis.diagnose import diagnose
from retrofit.proving.diagnosis.rig_of_plan import rig_of
from retrofit.proving.diagnosis.told import told
from retrofit.proving.following import evidence_of
from retrofit.proving.runs.run import ProvingRun


def causes_of(plan: ConversionPlan, run: ProvingRun, division: str) -> tuple[str, ...]:
    """Return, in sentences, the causes that explain what the run heard; none when nothing is wrong for certain."""
    heard = evidence_of(run.expected, run.notebook, division)
    if not heard:
        return ()
    rig = rig_of(plan)
    return told(rig, diagnose(rig, heard))
