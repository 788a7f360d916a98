"""What another wish would change in a plan, told before it is done."""

from __future__ import annotations

from pathlib import Path

from retrofit.catalogue.load import load_catalogue
from retrofit.plan.build import plan_conversion
from retrofit.plan.effects import changed_names, effects
from retrofit.plan.model import ConversionPlan
from retrofit.survey.load import parse_job
from retrofit.survey.save import Edit, edited_text, set_value

JOB = Path(__file__).parents[2] / "retrofit/demo/gutted_home.toml"


def plan_of(text: str) -> ConversionPlan:
    """Return the plan of a job's text."""
    return plan_conversion(parse_job(text, "job.toml"), load_catalogue())


def changed(edit: Edit) -> dict[str, tuple[str, ...]]:
    """Return what an edit of the demo would change, by subject."""
    text = JOB.read_text(encoding="utf-8")
    found = effects(plan_of(text), plan_of(edited_text(text, "job.toml", edit)))
    return {effect.subject: effect.lines for effect in found}


def test_equal_plans_change_nothing() -> None:
    """Every subject is there, and none has a line."""
    plan = plan_of(JOB.read_text(encoding="utf-8"))

    assert {effect.subject: effect.lines for effect in effects(plan, plan)} == {
        "circuits": (),
        "steps": (),
        "findings": (),
        "the board": (),
    }


def test_another_circuit_is_told_with_both_verdicts() -> None:
    """The group, its circuit before and after; the level at the input turns, and the board says so."""
    found = changed(lambda document: set_value(document, ("groups", "upper", "wanted", "sense"), "pull-down"))

    assert found["circuits"] == ("upper: contact with pull-up (good) -> contact with pull-down (good)",)
    assert "upper.36, on reads: low -> high" in found["the board"]
    assert found["steps"] == ()


def test_preserved_originals_are_told_step_by_step() -> None:
    """Contacts that were taken over become sensors beside them, and every step must leave no mark."""
    found = changed(lambda document: set_value(document, ("originals", "preserved"), True))

    assert "steps that must leave the originals as they were: 0 -> 18" in found["steps"]
    assert "- wire-contact.pistons: contacts of Thumb pistons: 8" in found["steps"]
    assert "+ fit-sensor.pistons: sensors for Thumb pistons (contacts: 8)" in found["steps"]
    assert any(line.startswith("+ note service-lead-joins-earth wanted.midi_out: ") for line in found["findings"])


def test_taps_of_a_group_are_one_line() -> None:
    """Lines that become the organ's are tapped: one line with their number, not one for each."""
    found = changed(lambda document: set_value(document, ("groups", "upper", "wiring", "owner"), "organ"))

    assert "+ taps of upper: lines: 61" in found["steps"]
    assert not any("tap-line" in line for line in found["steps"])


def test_names_that_only_one_side_has() -> None:
    """What goes stands with a minus, what comes with a plus, what stays not at all."""
    assert changed_names(("a", "b"), ("b", "c")) == ("- a", "+ c")
