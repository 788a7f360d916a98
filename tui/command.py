"""`retrofit ui`: opens the text screens."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import click

from retrofit.cli.arguments import FILE_PATH
from retrofit.cli.jobs import read_job
from retrofit.cli.output import Exit, Stop


@click.command()
@click.argument("file", metavar="[FILE]", required=False, type=FILE_PATH)
def command(file: Path | None) -> None:
    """Work on a job on text screens: describe, plan, build, prove; without FILE, begin at the room Start.

    Keys alone are enough; `?` lists those that work, and Ctrl+P finds an action by its name.  Every edit is kept at
    once, with undo, and the file as it was stays as a backup.
    """
    if file is not None:
        read_job(file)  # a file that cannot be read ends here; one with problems is mended on the screens
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise Stop(Exit.FILES, "a terminal is needed for the text screens; see: retrofit --help")
    for size in ("COLUMNS", "LINES"):
        os.environ.pop(size, None)  # the terminal itself is asked, so that the screens follow when it is resized
    from tui.app import RetrofitApp  # noqa: PLC0415  # the text screens load only when somebody looks

    RetrofitApp(file).run()
