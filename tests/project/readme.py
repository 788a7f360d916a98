"""The outputs shown in the README are those of real runs: `python -m tests.project.readme` writes them afresh."""

from __future__ import annotations

import re
import shlex
import subprocess
import sys
import tempfile
from pathlib import Path

from tests.project.tree import ROOT

README = ROOT / "README.md"
WIDTH = 100
BLOCK = re.compile(
    r"<!-- output(?:, first (?P<lines>\d+) lines)?: (?P<command>retrofit [^\n]*?) -->\n"
    r"```text\n(?P<shown>.*?)```\n",
    re.DOTALL,
)


def refreshed(text: str) -> str:
    """Return the README with every shown output replaced by that of a run now, in an empty folder."""
    with tempfile.TemporaryDirectory() as folder:
        return BLOCK.sub(lambda block: _refreshed_block(block, Path(folder)), text)


def _refreshed_block(block: re.Match[str], folder: Path) -> str:
    said = _output(shlex.split(block["command"])[1:], folder).splitlines(keepends=True)
    lines = int(block["lines"] or len(said))
    start = block.start("shown") - block.start()
    return block[0][:start] + "".join(said[:lines]) + "```\n"


def _output(arguments: list[str], folder: Path) -> str:
    """Return what a user would see: data and talk together."""
    command = [sys.executable, "-m", "retrofit.cli.main", *arguments]
    environment = {"PYTHONPATH": str(ROOT), "COLUMNS": str(WIDTH), "PYTHONUTF8": "1", "PYTHONUNBUFFERED": "1"}
    result = subprocess.run(
        command,
        cwd=folder,
        env=environment,
        check=True,
        text=True,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        stdin=subprocess.DEVNULL,
    )
    return result.stdout


if __name__ == "__main__":
    README.write_text(refreshed(README.read_text(encoding="utf-8")), encoding="utf-8")
