"""The one owner of stderr and of exit codes."""

from __future__ import annotations

from enum import IntEnum

import click

from retrofit.cli.terminal import shown


class Exit(IntEnum):
    """How a command ended.  A command that failed never ends with 0."""

    OK = 0
    PROBLEMS = 1
    USAGE = 2
    FILES = 3
    UNEXPECTED = 70
    INTERRUPTED = 130
    PIPE_CLOSED = 141


MEANINGS = {
    Exit.OK: "done",
    Exit.PROBLEMS: "the job file has problems, findings of the plan stop the work, or a board is not as it should be",
    Exit.USAGE: "the command was called wrongly",
    Exit.FILES: "a file or folder could not be read or written, or something needed is missing",
    Exit.UNEXPECTED: "a fault of this program; RETROFIT_DEBUG=1 shows where",
    Exit.INTERRUPTED: "interrupted from the keyboard",
    Exit.PIPE_CLOSED: "whoever read the output stopped reading",
}


class Stop(Exception):  # noqa: N818  # it is how a command ends, not always an error
    """Ends a command with an exit code and the lines to say on stderr."""

    def __init__(self, code: Exit, *lines: str) -> None:
        super().__init__(*lines)
        self.code = code
        self.lines = lines


def talk(line: str = "") -> None:
    """Say one line on stderr, made safe for a terminal."""
    click.echo(shown(line), err=True)


def data(line: str = "") -> None:
    """Write one line of the command's result to stdout, made safe for a terminal."""
    click.echo(shown(line))


def raw_data(text: str) -> None:
    """Write text that another program will read to stdout exactly as it is."""
    click.echo(text, nl=False)


def counted(number: int, word: str) -> str:
    """Return `3 errors`, `2 addresses`, `1 error` or `no errors`."""
    ending = "" if number == 1 else "es" if word.endswith("s") else "s"
    return f"{number or 'no'} {word}{ending}"
