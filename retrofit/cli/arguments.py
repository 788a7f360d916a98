"""The arguments that several commands share."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import click

FILE_PATH = click.Path(path_type=Path, readable=False)
"""A file or folder.  Whether it may be read is found when it is read, and ends the command as any file problem does."""

job_file = click.argument("file", metavar="FILE", type=FILE_PATH)

accept_moves = click.option(
    "--accept-moves", is_flag=True, help="Let recorded addresses move without asking; wired ones never move."
)


class Duration(click.FloatRange):
    """A number of seconds, minutes or the like: one that has an end, so neither a NaN nor infinity."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """Return the number.  Raises `click.BadParameter` for one that is no number or outside the range."""
        number = float(super().convert(value, param, ctx))
        if not math.isfinite(number):
            self.fail(f"{value!r} is no number of time that ends; write one such as 10 or 0.5", param, ctx)
        return number
