"""`retrofit schema`: the JSON schema of job files, so that an editor completes and checks them."""

from __future__ import annotations

import json
from pathlib import Path

import click

from retrofit.cli.arguments import FILE_PATH
from retrofit.cli.output import raw_data
from retrofit.cli.writing import say_written, write_text
from retrofit.survey.schema import SCHEMA_LINE, job_schema


def schema_text() -> str:
    """Return the schema as the text of its file."""
    return json.dumps(job_schema(), indent=2, ensure_ascii=False) + "\n"


@click.command(epilog=f"A job file that begins with the line {SCHEMA_LINE} tells the editor where it is.")
@click.option("--out", type=FILE_PATH, help="Write to this file instead of stdout.")
def command(out: Path | None) -> None:
    """Write the JSON schema of job files, from which an editor completes and checks them."""
    if out is None:
        raw_data(schema_text())
    else:
        say_written(out, write_text(out, schema_text()))
