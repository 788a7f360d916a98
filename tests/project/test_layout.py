"""What may lie at the top, what is packed, and what no file may say."""

from __future__ import annotations

import re
import tomllib
from fnmatch import fnmatch
from pathlib import Path

import pytest

from retrofit.cli.version import VERSION
from tests.project.tree import ROOT, project_files, python_files

PACKAGES = {"firmware_templates", "retrofit", "tui"}
TOP = {"CHANGELOG.md", "DEVELOPERS.md", "LICENSE", "README.md", "pyproject.toml", "tests", *PACKAGES}
MACHINE_PATH = re.compile(r"(?<![\w.])/(?:root|home|work|Users)/")
UNFINISHED = re.compile(r"\b(?:TO" + r"DO|FIX" + r"ME|XX" + r"X)\b")

PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))


def test_the_top_holds_only_what_belongs_there() -> None:
    """Apart from names with a leading dot, the top level holds the agreed names and no others."""
    top = {path.parts[0] for path in project_files()}
    assert {name for name in top if not name.startswith(".")} <= TOP


def test_every_package_of_the_tree_is_packed() -> None:
    """A package that the search misses would be missing after installation, though not in the tree."""
    in_tree = {".".join(path.parent.parts) for path in python_files() if path.parts[0] in PACKAGES}
    include = PROJECT["tool"]["setuptools"]["packages"]["find"]["include"]
    assert {package for package in in_tree if not any(fnmatch(package, pattern) for pattern in include)} == set()
    assert {package for package in in_tree if not ROOT.joinpath(*package.split("."), "__init__.py").exists()} == set()


def test_every_data_file_of_the_packages_is_packed() -> None:
    """Templates, tables and demo jobs are found by the patterns that decide what an installation holds."""
    patterns = PROJECT["tool"]["setuptools"]["package-data"]
    packed = {
        path.relative_to(ROOT)
        for package, globs in patterns.items()
        for pattern in globs
        for path in ROOT.joinpath(*package.split(".")).glob(pattern)
    }
    data = {path for path in project_files() if path.parts[0] in PACKAGES and path.suffix != ".py"}
    assert data - packed == set()


def test_the_version_is_said_once() -> None:
    """The constant behind `--version` is the version of the package."""
    assert PROJECT["project"]["version"] == VERSION


def text_files() -> list[Path]:
    """Return the files that are text."""
    return [path for path in project_files() if b"\0" not in (ROOT / path).read_bytes()]


@pytest.mark.parametrize("pattern", [MACHINE_PATH, UNFINISHED], ids=["machine path", "unfinished work"])
def test_no_file_says_what_must_not_be_said(pattern: re.Pattern[str]) -> None:
    """No file names a path of one machine or leaves a mark of unfinished work."""
    said = {
        f"{path}:{number}": line.strip()
        for path in text_files()
        for number, line in enumerate((ROOT / path).read_text(encoding="utf-8", errors="replace").splitlines(), 1)
        if pattern.search(line)
    }
    assert said == {}


def test_the_patterns_fire() -> None:
    """Each pattern finds the thing that it is for."""
    assert MACHINE_PATH.search("see /" + "home/somebody/x")
    assert UNFINISHED.search("# TO" + "DO later")


@pytest.mark.parametrize("path", [path for path in python_files() if path.parts[0] in {"retrofit", "tui"}], ids=str)
def test_files_stay_short(path: Path) -> None:
    """A file of the tool stays under 400 lines; one that grows past that does a second thing."""
    assert len((ROOT / path).read_text(encoding="utf-8").splitlines()) < 400
