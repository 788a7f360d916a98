"""Imports go down the floors, and the contract that says so can fail."""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path

from tests.project.tree import ROOT

LINT = Path(sys.executable).with_name("lint-imports")


def lint_imports(folder: Path) -> subprocess.CompletedProcess[str]:
    """Check the contract in a folder."""
    return subprocess.run([LINT, "--no-cache"], cwd=folder, capture_output=True, text=True, check=False)


def test_imports_go_down() -> None:
    """No room imports from above or from beside it."""
    result = lint_imports(ROOT)
    assert result.returncode == 0, result.stdout


def test_an_import_upwards_is_caught(tmp_path: Path) -> None:
    """A survey file that imports the command line breaks the contract."""
    for name in ("retrofit", "tui", "firmware_templates"):
        shutil.copytree(ROOT / name, tmp_path / name, ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    with (tmp_path / "retrofit" / "survey" / "base.py").open("a", encoding="utf-8") as file:
        file.write("\nimport retrofit.cli.version\n")
    result = lint_imports(tmp_path)
    assert result.returncode != 0
    assert "retrofit.survey.base -> retrofit.cli.version" in result.stdout
