"""What the firmware occupies on every board: `python -m tests.emulator.sizes`.

Demo consoles are compiled for each board that takes them and played in the emulator, every point with bounce, while
noise comes in by MIDI and the board link is asked everything.  Printed are program and data memory as avr-size and
arm-none-eabi-size count them (the RP2040's without the Arduino core), and the deepest stack that was seen beside what
the plan sets aside for it.  A path that was not run may go deeper: the figures are seen, not proved.  The exit code is
1 when something did not fit, or could not be built or run.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Iterable

import pytest

from tests.emulator.both_outlets import with_both
from tests.emulator.build import BuildError
from tests.emulator.demos import Console, console, prompt_job
from tests.emulator.memory_use import MemoryUse, memory_use
from tests.emulator.rp2040.consoles import on_this_board
from tests.emulator.usb_console import small_job

CONSOLES: dict[str, Callable[[], Console]] = {
    "gutted_home, DIN": lambda: console(prompt_job("gutted_home")),
    "theatre, DIN": lambda: console(prompt_job("theatre")),
    "gutted_home, USB": lambda: console(small_job("gutted_home")),
    "gutted_home, both": lambda: console(with_both(small_job("gutted_home"))),
    "theatre, both": lambda: console(with_both(on_this_board(prompt_job("theatre")))),
}
HEAD = ("console", "board", "flash", "of", "RAM", "of", "stack", "set aside", "untouched")


def main(arguments: list[str] | None = None) -> int:
    """Print the table and return the exit code."""
    words = (__doc__ or "").split("\n\n")[1]
    argparse.ArgumentParser(prog="python -m tests.emulator.sizes", description=words).parse_args(arguments)
    try:
        found = {name: memory_use(build()) for name, build in CONSOLES.items()}
    except (BuildError, RuntimeError, pytest.skip.Exception, pytest.fail.Exception) as error:
        sys.stderr.write(f"sizes: {error}\n")
        return 1
    sys.stdout.write(table(found.items()))
    return 0 if all(use.fits for use in found.values()) else 1


def table(found: Iterable[tuple[str, MemoryUse]]) -> str:
    """Return one line for each console."""
    return "".join(map(_line, (HEAD, *(_cells(name, use) for name, use in found))))


def _cells(name: str, use: MemoryUse) -> tuple[str, ...]:
    numbers = (use.flash, use.flash_room, use.ram, use.ram_room, use.stack, use.stack_allowed, use.unseen)
    return (name, use.board, *map(str, numbers), *(() if use.fits else ("  DOES NOT FIT",)))


def _line(cells: tuple[str, ...]) -> str:
    name, board, *numbers = cells
    return f"{name:<19}{board:<12}{''.join(f'{number:>11}' for number in numbers)}".rstrip() + "\n"


if __name__ == "__main__":
    sys.exit(main())
