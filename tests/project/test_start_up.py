"""Starting is quick because nothing is loaded before it is needed."""

from __future__ import annotations

import json
import subprocess
import sys

import pytest

from tests.project.tree import ROOT

PROBE = """
import json, sys
sys.argv = ["retrofit", *json.loads(sys.argv[1])]
from retrofit.cli.main import main
try:
    main()
except SystemExit:
    pass
print(json.dumps(sorted(sys.modules)), file=sys.stderr)
"""


def modules_after(*arguments: str) -> set[str]:
    """Return the names of all modules that a command has loaded by its end."""
    result = subprocess.run(
        [sys.executable, "-c", PROBE, json.dumps(arguments)], cwd=ROOT, capture_output=True, text=True, check=True
    )
    return set(json.loads(result.stderr.splitlines()[-1]))


HEAVY = {"pydantic", "jinja2", "textual", "rtmidi", "mido", "serial", "tomlkit", "numpy"}


def test_the_version_loads_next_to_nothing() -> None:
    """`--version` answers without even the command-line library."""
    loaded = modules_after("--version")
    assert not loaded & {*HEAVY, "click", "dataclasses", "importlib.metadata"}


@pytest.mark.parametrize("arguments", [["--help"], ["check", "--help"], ["rules"]], ids=" ".join)
def test_help_loads_no_heavy_library(arguments: list[str]) -> None:
    """The list of commands is written without importing any of them."""
    loaded = modules_after(*arguments) & HEAVY
    assert loaded <= ({"pydantic"} if arguments != ["--help"] else set())


def test_a_check_loads_neither_screens_nor_ports_nor_templates() -> None:
    """Checking a job needs its models and nothing that writes, shows or plays."""
    loaded = modules_after("check", "retrofit/demo/gutted_home.toml")
    assert "pydantic" in loaded
    assert not loaded & (HEAVY - {"pydantic"})
