"""The README says what is so: its commands, its outputs and its tables are those of the program."""

from __future__ import annotations

import re
import subprocess

import pytest

from retrofit.cli.app import COMMANDS
from retrofit.cli.output import MEANINGS
from retrofit.survey.load import parse_job
from tests.project.readme import BLOCK, README, refreshed
from tests.project.tree import ROOT

TEXT = README.read_text(encoding="utf-8")
SHELL = re.findall(r"```sh\n(.*?)\n```", TEXT, re.DOTALL)


def test_the_shown_outputs_are_those_of_a_run() -> None:
    """Every output in the README is what the command says today; `python -m tests.project.readme` renews them."""
    assert len(BLOCK.findall(TEXT)) == 4
    assert refreshed(TEXT) == TEXT


def test_a_stale_output_would_be_noticed() -> None:
    """An output that was changed by hand comes out different from a run."""
    stale = "<!-- output: retrofit --version -->\n```text\nretrofit 0.0.0\n```\n"
    assert refreshed(stale) != stale
    assert refreshed(refreshed(stale)) == refreshed(stale)


def test_there_are_two_commands() -> None:
    """One line from a fresh machine to the finished demo, one line that runs every check."""
    demo, test = SHELL
    assert demo.startswith("python3 -m venv .venv && .venv/bin/pip install")
    assert demo.endswith("&& .venv/bin/retrofit demo")
    assert test == "sh .ci/test"
    assert all("\n" not in command for command in SHELL)


def test_continuous_integration_calls_the_second_command() -> None:
    """What is promised to readers is what runs before anything is merged, and there nothing may be left out."""
    lines = [line for line in (ROOT / ".ci/run").read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    assert lines == ['CI=true exec sh "$(dirname "$0")/test"']
    script = (ROOT / ".ci/test").read_text(encoding="utf-8")
    for check in ("ruff check .", "ruff format --check .", "mypy", "lint-imports", "cppcheck", "python -m pytest -n 2"):
        assert f"check {check}" in script


@pytest.mark.parametrize("script", ["run", "test"])
def test_the_scripts_are_plain_shell(script: str) -> None:
    """The scripts parse as POSIX shell."""
    subprocess.run(["sh", "-n", ROOT / ".ci" / script], check=True)


def test_every_command_is_in_the_table() -> None:
    """The overview names all commands, and no others."""
    named = dict.fromkeys(re.findall(r"^\| `retrofit ([a-z]+)", TEXT, re.MULTILINE))
    assert list(named) == list(COMMANDS)


def test_every_exit_code_is_in_the_table() -> None:
    """The exit codes and their meanings are those of the program."""
    rows = re.findall(r"^\| (\d+) \| (.*) \|$", TEXT, re.MULTILINE)
    assert [(int(code), words.replace("`", "")) for code, words in rows] == [(c.value, w) for c, w in MEANINGS.items()]


def test_the_job_file_that_is_shown_is_sound() -> None:
    """The excerpt of a job file, with a head added, loads without problems."""

    (excerpt,) = re.findall(r"```toml\n(.*?)\n```", TEXT, re.DOTALL)
    head = 'format = 1\n[instrument]\nname = "x"\n[[divisions]]\nid = "great"\n'
    group = parse_job(head + excerpt, "README.md").groups[0]
    assert group.wiring.idle.source.value == 47_000
