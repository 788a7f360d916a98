"""The program in a real terminal: tmux, 80 by 24, TERM=screen, keys as a terminal sends them."""

from __future__ import annotations

import os
import shlex
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from retrofit.survey.load import load_job
from tests.tools import require_tool

PATIENCE_S = 60.0
ROOT = Path(__file__).parents[2]


class Terminal:
    """A tmux server of one session."""

    def __init__(self, tmux: str, socket: Path, folder: Path) -> None:
        self._tmux = [tmux, "-S", str(socket), "-f", "/dev/null"]
        program = shlex.join([sys.executable, "-c", "from retrofit.cli.main import main; main()"])
        settings = {"XDG_STATE_HOME": str(folder / "state"), "PYTHONPATH": str(ROOT), "LANG": "C.UTF-8"}
        settings |= {"COLUMNS": "80", "LINES": "24"}  # as some shells export them
        given = " ".join(f"{name}={shlex.quote(value)}" for name, value in settings.items())
        shell = f"cd {shlex.quote(str(folder))} && env {given} {program}"
        self._do("new-session", "-d", "-x", "80", "-y", "24", f"{shell} ui; echo ended $?; sleep 600")

    def _do(self, *arguments: str) -> str:
        environment = {**os.environ, "TERM": "screen", "LANG": "C.UTF-8"}
        done = subprocess.run([*self._tmux, *arguments], capture_output=True, text=True, check=True, env=environment)
        return done.stdout

    def press(self, *keys: str) -> None:
        """Send keys by tmux's names."""
        self._do("send-keys", *keys)

    def write(self, text: str) -> None:
        """Send characters as they are."""
        self._do("send-keys", "-l", text)

    def screen(self) -> str:
        """Return what stands on the screen."""
        return self._do("capture-pane", "-p")

    def shows(self, *words: str) -> None:
        """Wait until all of the words stand on the screen."""
        self.until(lambda: all(word in self.screen() for word in words), " and ".join(words))

    def until(self, holds: Callable[[], bool], what: str) -> None:
        """Wait until something holds; fail with the screen when it does not."""
        give_up = time.monotonic() + PATIENCE_S
        while not holds():
            assert time.monotonic() < give_up, f"waited in vain for {what}; the screen:\n{self.screen()}"
            time.sleep(0.1)

    def resize(self, width: int, height: int) -> None:
        """Give the terminal another size."""
        self._do("resize-window", "-x", str(width), "-y", str(height))

    def close(self) -> None:
        """Close the terminal, as a window that is closed: the program is hung up on."""
        subprocess.run([*self._tmux, "kill-server"], capture_output=True, check=False)


@pytest.fixture
def terminal(own_folders: Path, tmp_path: Path) -> Iterator[Terminal]:
    """Open a terminal with the program in it."""
    terminal = Terminal(require_tool("tmux", "tmux"), tmp_path / "socket", own_folders)
    yield terminal
    terminal.close()


def test_the_program_works_in_a_plain_terminal(terminal: Terminal, own_folders: Path) -> None:
    """The demo is opened and every room entered; an edit is in the file; the terminal shrinks and grows."""
    terminal.shows("1 Start", "d  copies")
    terminal.press("d")
    terminal.shows("demo-console")
    terminal.press("Enter")
    terminal.shows("[2 Found]", "upper")
    for number, room in enumerate(("Sensing", "Scan", "Messages", "Board", "Proving", "Putback"), 3):
        terminal.press(str(number))
        terminal.shows(f"[{number} {room}]")
    terminal.resize(60, 20)
    terminal.shows("too small")
    terminal.resize(80, 24)
    terminal.until(lambda: "too small" not in terminal.screen(), "the notice to go")
    terminal.press("2", "e")
    terminal.shows("Ctrl+O keeps it")
    terminal.press("Home")
    terminal.write("# a remark\n")
    terminal.shows("# a remark")
    terminal.press("C-o")
    terminal.shows("edited as text")
    assert "# a remark" in (own_folders / "demo-console/gutted_home.toml").read_text(encoding="utf-8")
    terminal.press("C-q")
    terminal.shows("ended 0")


def test_a_closed_terminal_loses_nothing_typed(terminal: Terminal, own_folders: Path, tmp_path: Path) -> None:
    """Text that is no sound job yet lies beside the job when the window is closed, and stands there again."""
    terminal.press("d")
    terminal.shows("demo-console")
    terminal.press("Enter")
    terminal.shows("[2 Found]", "upper")
    terminal.press("e")
    terminal.shows("Ctrl+O keeps it")
    terminal.write("half typed")
    job = own_folders / "demo-console/gutted_home.toml"
    typed = job.with_name(job.name + ".typed")
    terminal.until(lambda: typed.exists() and "half typed" in typed.read_text(encoding="utf-8"), "what was typed")
    terminal.close()
    assert load_job(job).instrument.invented
    again = Terminal(require_tool("tmux", "tmux"), tmp_path / "again", own_folders)
    try:
        again.shows("gutted_home.toml")
        again.press("Tab", "Enter")
        again.shows("[2 Found]", "upper")
        again.press("e")
        again.shows("half typed")
    finally:
        again.close()
