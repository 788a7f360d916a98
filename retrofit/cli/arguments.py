"""The arguments that several commands share."""

from __future__ import annotations

from pathlib import Path

import click

FILE_PATH = click.Path(path_type=Path, readable=False)
"""A file or folder.  Whether it may be read is found when it is read, and ends the command as any file problem does."""

job_file = click.argument("file", metavar="FILE", type=FILE_PATH)

accept_moves = click.option(
    "--accept-moves", is_flag=True, help="Let recorded addresses move without asking; wired ones never move."
)
