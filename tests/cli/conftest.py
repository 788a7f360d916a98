"""What the tests of the command line share: copies of the demo jobs, and a way to run a command and read its ending."""

from __future__ import annotations

import os
import pty
import subprocess
import sys
import threading
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest

from retrofit.cli.run import run


@dataclass(frozen=True, slots=True)
class Ended:
    """How a command ended: exit code, data and talk."""

    code: int
    out: str
    err: str


Command = Callable[..., Ended]

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture
def retrofit(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Command:
    """Run a command in this process, with a fixed width and nobody to answer questions."""
    monkeypatch.setenv("COLUMNS", "200")
    monkeypatch.setattr("sys.stdin", Path(os.devnull).open(encoding="utf-8"))  # noqa: SIM115  # lives as long as the test

    def command(*arguments: object) -> Ended:
        code = run([str(argument) for argument in arguments])
        captured = capsys.readouterr()
        return Ended(code, captured.out, captured.err)

    return command


def process(*arguments: object, **options: Any) -> subprocess.CompletedProcess[str]:
    """Run a command in a process of its own."""
    command = [sys.executable, "-m", "retrofit.cli.main", *map(str, arguments)]
    settings = {"capture_output": True, "text": True, "stdin": subprocess.DEVNULL, "cwd": ROOT, **options}
    return subprocess.run(command, check=False, **settings)


def on_a_terminal(answers: str, *arguments: object) -> int:
    """Run a command on a pseudo-terminal, type the answers, and return its exit code."""
    ours, theirs = pty.openpty()
    command = [sys.executable, "-m", "retrofit.cli.main", *map(str, arguments)]
    with subprocess.Popen(command, stdin=theirs, stdout=theirs, stderr=theirs, cwd=ROOT) as child:
        os.close(theirs)
        threading.Thread(target=_drain, args=(ours,), daemon=True).start()
        os.write(ours, answers.encode())
        return child.wait(20)


def _drain(terminal: int) -> None:
    """Read what the questions look like, so that the asking process never waits for a reader."""
    with suppress(OSError):
        while os.read(terminal, 4096):
            pass


def demo(name: str) -> str:
    """Return the text of a demo job."""
    return files("retrofit.demo").joinpath(name).read_text(encoding="utf-8")


@pytest.fixture
def gutted(tmp_path: Path) -> Path:
    """Return a copy of the gutted demo console."""
    return written(tmp_path / "gutted.toml", demo("gutted_home.toml"))


@pytest.fixture
def theatre(tmp_path: Path) -> Path:
    """Return a copy of the theatre demo console."""
    return written(tmp_path / "theatre.toml", demo("theatre.toml"))


@pytest.fixture
def faulty(tmp_path: Path) -> Path:
    """Return a sound file whose plan has an error: nobody has said who owns the lines."""
    return written(tmp_path / "faulty.toml", demo("gutted_home.toml").replace('owner = "us"', 'owner = "unknown"'))


@pytest.fixture
def misspelt(tmp_path: Path) -> Path:
    """Return a file with two problems."""
    text = (
        demo("gutted_home.toml").replace('owner = "us"', 'owner = "uss"', 1).replace("cable_length", "cable_lenght", 1)
    )
    return written(tmp_path / "misspelt.toml", text)


def written(path: Path, text: str) -> Path:
    """Write a file and return its path."""
    path.write_text(text, encoding="utf-8")
    return path
