"""Runs a command and turns every way it can end into an exit code: no traceback ever reaches a user."""

from __future__ import annotations

import io
import os
import sys
from collections.abc import Sequence

import click

from retrofit.cli.app import app
from retrofit.cli.output import Exit, Stop, talk
from retrofit.cli.version import VERSION
from retrofit.survey.os_remedies import remedy_for


def run(arguments: Sequence[str]) -> int:
    """Run one command line and return its exit code."""
    _never_fail_on_a_letter()
    try:
        code = _invoke(list(arguments) or _alone())
    except (Exception, KeyboardInterrupt) as error:  # noqa: BLE001  # the last net: a user gets words, not a traceback
        code = _ended_by(error)
    return _flushed(code)


def _alone() -> list[str]:
    """Return what a call without arguments means: the text screens in a terminal, and elsewhere the help."""
    return ["ui"] if sys.stdin.isatty() and sys.stdout.isatty() else []


def _invoke(arguments: list[str]) -> int:
    """Run the command without click's own handling of endings, so that this file is the only place that knows them."""
    try:
        with app.make_context("retrofit", arguments) as context:
            app.invoke(context)
    except click.exceptions.Exit as leave:
        return leave.exit_code
    return Exit.OK


def _ended_by(error: BaseException) -> int:
    """Say why a command ended and return its exit code."""
    code, lines = _code_and_words(error)
    for line in lines:
        talk(line)
    return code


def _code_and_words(error: BaseException) -> tuple[Exit, tuple[str, ...]]:
    match error:
        case Stop():
            ending = error.code, error.lines
        case click.UsageError():
            ending = Exit.USAGE, _usage_lines(error)
        case KeyboardInterrupt() | click.Abort():
            ending = Exit.INTERRUPTED, ("interrupted",)
        case BrokenPipeError():
            ending = Exit.PIPE_CLOSED, ()
        case OSError():
            ending = Exit.FILES, (_os_words(error),)
        case _:
            ending = Exit.UNEXPECTED, _unexpected(error)
    return ending


def _flushed(code: int) -> int:
    """Flush stdout while its failure can still be told; afterwards the interpreter's own flush finds nothing to do."""
    try:
        sys.stdout.flush()
    except OSError as error:
        code = _ended_by(error)
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    return code


def _never_fail_on_a_letter() -> None:
    """A terminal that cannot show a letter gets its escape instead of ending the command."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")


def _usage_lines(error: click.UsageError) -> tuple[str, ...]:
    lines = tuple(error.format_message().splitlines())
    if error.ctx is not None and not isinstance(error, click.exceptions.NoArgsIsHelpError):
        return (*lines, f"see: {error.ctx.command_path} --help")
    return lines


def _os_words(error: OSError) -> str:
    what = error.strerror or type(error).__name__
    remedy = remedy_for(error)
    return f"{f'{error.filename}: ' if error.filename else ''}{what}{f'; {remedy}' if remedy else ''}"


def _unexpected(error: BaseException) -> tuple[str, ...]:
    if os.environ.get("RETROFIT_DEBUG") == "1":
        import traceback  # noqa: PLC0415  # only for whoever asked for it

        traceback.print_exception(error)
    return (
        f"a fault of this program, not of your file: {type(error).__name__}: {error}",
        f"please report it with the command, the job file and this line (retrofit {VERSION}); "
        "RETROFIT_DEBUG=1 shows where it happened",
    )
