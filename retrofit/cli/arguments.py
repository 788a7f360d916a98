"""The arguments that several commands share."""

from __future__ import annotations

from pathlib import Path

import click

job_file = click.argument("file", metavar="FILE", type=click.Path(path_type=Path))

accept_moves = click.option(
    "--accept-moves", is_flag=True, help="Let recorded addresses move without asking; wired ones never move."
)
