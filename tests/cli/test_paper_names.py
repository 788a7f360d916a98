"""The papers of a plan by name, before anything is written."""

from __future__ import annotations

from pathlib import Path

import pytest

import retrofit.demo
from retrofit.catalogue.load import load_catalogue
from retrofit.cli.building import paper_names, write_build
from retrofit.plan.build import plan_conversion
from retrofit.survey.load import load_job

DEMOS = Path(retrofit.demo.__path__[0])


@pytest.mark.parametrize("name", ["gutted_home", "theatre"])
def test_they_are_what_a_build_writes(name: str, tmp_path: Path) -> None:
    """The names are those of the files beside the sketch, no more and no fewer."""
    plan = plan_conversion(load_job(DEMOS / f"{name}.toml"), load_catalogue())
    built = write_build(plan, tmp_path)
    papers = {path.name for path in built.paths if path.parent == tmp_path}

    assert set(paper_names(plan)) == papers
