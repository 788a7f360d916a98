"""The person of a proving run: at a terminal, where lines can be typed at any time, and inside the console, by ear."""

from __future__ import annotations

import os
import select
import sys
import time
from collections.abc import Callable

from retrofit.cli.output import talk
from retrofit.proving.runs.says import Say, Sound
from retrofit.proving.tones import Tones

SIGNS = {Sound.PASS: "[+]", Sound.FAIL: "[x]", Sound.ASK: "[>]", None: "   "}
"""Each sound has a sign beside its words, so that no colour is needed."""
LISTENED_EVERY_S = 0.005


class MonotonicClock:
    """The clock of this machine, by which live messages are timed."""

    def now_us(self) -> int:
        """Return the time."""
        return time.monotonic_ns() // 1000

    def heard(self, time_us: int) -> None:
        """Nothing to learn: this clock goes by itself."""

    def wait(self) -> None:
        """Sleep for a moment."""
        time.sleep(LISTENED_EVERY_S)


class TerminalPerson:
    """Reads on stderr what the run says, hears it as tones, and types words on standard input when it suits.

    Nobody is waited for.  `now_us` times the tones.
    """

    def __init__(self, now_us: Callable[[], int], tones: Tones | None = None, may_type: bool = True) -> None:
        self._now_us = now_us
        self._tones = tones
        self._typing = may_type and sys.stdin.isatty()
        self._begun = b""

    def say(self, say: Say) -> None:
        """Say it on stderr and as a tone."""
        talk(f"{SIGNS[say.sound]} {say.words}")
        if self._tones is not None:
            self._tones.say(say, self._now_us())

    def words(self) -> list[str]:
        """Return the lines typed since the last call; end the tones whose time is over."""
        if self._tones is not None:
            self._tones.pass_time(self._now_us())
        return self._typed() if self._typing else []

    def _typed(self) -> list[str]:
        """Read what is there to be read; the terminal's end means that nobody types any more."""
        keyboard = sys.stdin.fileno()
        if not select.select([keyboard], [], [], 0)[0]:
            return []
        read = os.read(keyboard, 4096)
        self._typing = bool(read)
        *lines, self._begun = (self._begun + read).split(b"\n")
        return [line.decode("utf-8", "replace") for line in lines if line.strip()]
