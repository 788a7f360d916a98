"""`retrofit` without arguments: the screens in a terminal, and the help where there is none."""

from __future__ import annotations

import fcntl
import os
import pty
import struct
import subprocess
import sys
import termios
import time
from pathlib import Path

from tests.cli.conftest import process

ROOT = Path(__file__).parents[3]
PATIENCE_S = 60.0


def shown_until(terminal: int, words: bytes) -> bytes:
    """Return what a terminal was sent until the words were among it."""
    seen = b""
    give_up = time.monotonic() + PATIENCE_S
    while words not in seen:
        assert time.monotonic() < give_up, seen
        seen += os.read(terminal, 65_536)
    return seen


def test_in_a_terminal_the_screens_open(own_folders: Path) -> None:
    """The room Start is shown, and Ctrl+Q ends with 0."""
    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("4H", 24, 80, 0, 0))
    settings = {**os.environ, "PYTHONPATH": str(ROOT), "TERM": "xterm-256color"}
    command = [sys.executable, "-m", "retrofit.cli.main"]
    with subprocess.Popen(command, stdin=theirs, stdout=theirs, stderr=theirs, cwd=own_folders, env=settings) as child:
        os.close(theirs)
        shown_until(ours, b"copies two invented consoles")
        os.write(ours, b"\x11")
        shown_until(ours, b"\x1b[?1049l")  # back to the screen before (xterm, alternate screen buffer)
        assert child.wait(PATIENCE_S) == 0
    os.close(ours)


def test_elsewhere_the_help_is_said() -> None:
    """Without a terminal the commands are listed, nothing is opened, and the exit code says that one is missing."""
    ended = process()
    assert ended.returncode == 2
    assert "Commands:" in ended.stdout + ended.stderr
    assert "1 Start" not in ended.stdout
