"""Opening a board's port: with the caution first, agreed to where it must be, and every failure said in words."""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import click

from retrofit.cli.asking import ask_yes_or_no
from retrofit.cli.output import Exit, Stop, talk
from retrofit.firmware.link.board import LiveBoard
from retrofit.firmware.link.conversation import Conversation, Patience
from retrofit.firmware.link.errors import LinkError
from retrofit.firmware.link.serial_line import SerialLine, refuse_no_port
from retrofit.plan.preserved import is_preserved
from retrofit.survey.job import Job

GREETING_S = 8.0
"""A boot loader that opening the port has started gives up within two seconds; then the board waits for its supply."""
_CAUTIONS = (
    "caution: opening the port may start the board anew, and what sounds then is silenced",
    "caution: the lead joins the computer's earth to the console; where original circuits stay, only across an "
    "isolator made for it, or with a laptop on its battery and nothing else plugged into it",
)
_UNDECIDED = "nobody can be asked here; --yes-isolated says that an isolator or a laptop on battery is in use"

yes_isolated = click.option(
    "--yes-isolated", is_flag=True, help="An isolator is in the lead, or the laptop is on its battery: do not ask."
)
as_json = click.option("--json", "as_json", is_flag=True, help="Write JSON for other programs.")
write = click.option("--write", is_flag=True, help="Write what was measured into the job file.")
port_of_group = click.pass_obj
"""Hands the PORT of `retrofit board PORT` to a command as its first argument."""


@contextmanager
def live_board(port: str, job: Job | None, isolated: bool, command_s: float | None = 120.0) -> Iterator[LiveBoard]:
    """Open the port and greet the board; end the command in words when anything of the link fails.

    `job` is the job that the board is taken to hold; without one nobody knows what it is wired to.
    """
    line = None
    try:
        refuse_no_port(port)
        _refuse_unisolated(job, isolated)
        line = SerialLine(port)
        yield LiveBoard(
            Conversation(line, time.monotonic, Patience(greeting_s=GREETING_S, command_s=command_s), os.urandom(1)[0])
        )
    except LinkError as error:
        raise Stop(Exit.FILES, f"{port}: {error}") from error
    finally:
        if line is not None:
            line.close()


def _refuse_unisolated(job: Job | None, isolated: bool) -> None:
    """Say the cautions, and end the command unless somebody agrees where originals are or may be at stake."""
    for caution in _CAUTIONS:
        talk(caution)
    if isolated or not _may_preserve(job):
        return
    if not sys.stdin.isatty():
        raise Stop(Exit.USAGE, "the port was not opened", _UNDECIDED)
    if not ask_yes_or_no("is an isolator in the lead, or the laptop on its battery?", default=False):
        raise Stop(Exit.USAGE, "the port was not opened")


def _may_preserve(job: Job | None) -> bool:
    return job is None or any(is_preserved(job, group) for group in job.groups)


def counted_progress(what: str) -> Callable[[int, int], None]:
    """Return a teller of bytes read, for a terminal alone: one line that is written over."""

    def told(done: int, total: int) -> None:
        if sys.stderr.isatty():
            click.echo(f"\r{what}: {done} of {total} bytes", err=True, nl=done >= total)

    return told


def json_text(content: Any) -> str:
    """Return `content` as JSON for other programs."""
    import json  # noqa: PLC0415  # only where it is asked for

    return json.dumps(content, indent=2, ensure_ascii=False) + "\n"
