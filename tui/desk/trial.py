"""An edit tried on a copy: what the plan would become, before anything is changed."""

from __future__ import annotations

from dataclasses import dataclass

from retrofit.catalogue.load import load_catalogue
from retrofit.cli.output import counted
from retrofit.plan.build import plan_conversion
from retrofit.plan.effects import Effect, changed_names, effects
from retrofit.plan.model import ConversionPlan
from retrofit.survey.load import parse_job
from retrofit.survey.save import Edit, edited_text
from tui.desk.state import DeskState

_MOST_LINES = 40


@dataclass(frozen=True, slots=True)
class Trial:
    """The plan that an edit would give, and what would be another in it."""

    plan: ConversionPlan
    effects: tuple[Effect, ...]

    @property
    def counts(self) -> str:
        """How much changes, in a line."""
        return ", ".join(f"{one.subject}: {len(one.lines) or 'none'}" for one in self.effects)

    @property
    def lines(self) -> list[str]:
        """Everything that changes, subject by subject; of a long list the beginning and how much is left out."""
        told: list[str] = [f"What would change: {self.counts}"]
        for effect in self.effects:
            told += ["", effect.subject.upper(), *(f"  {line}" for line in effect.lines[:_MOST_LINES])]
            if len(effect.lines) > _MOST_LINES:
                told.append(f"  and {counted(len(effect.lines) - _MOST_LINES, 'line')} more")
            if not effect.lines:
                told.append("  nothing")
        return told


def try_out(state: DeskState, edit: Edit) -> Trial:
    """Return what an edit would change in a job that has a plan; the job and its file stay as they are.

    Raises `JobFileError` where the edit is refused, and `ValueError` for a job without a plan.
    """
    from retrofit.cli.building import paper_names  # noqa: PLC0415  # it brings the template engine, which few need

    if state.plan is None:
        raise ValueError("a job with problems has no plan to compare with")
    name = str(state.path)
    plan = plan_conversion(parse_job(edited_text(state.text, name, edit), name), load_catalogue())
    papers = Effect("papers", changed_names(paper_names(state.plan), paper_names(plan)))
    circuits, steps, *others = effects(state.plan, plan)
    return Trial(plan, (circuits, steps, papers, *others))
