"""What is worth saying of a table beside its numbers: what it keeps of the job, and what a boot loader might refuse."""

from __future__ import annotations

from collections.abc import Iterator

from retrofit.firmware.refused_runs import tables_with_refused_run
from retrofit.firmware.rows import Table


def table_notes(table: Table, text: str) -> tuple[str, ...]:
    """Return the sentences for a table and its text as a file."""
    return (_kept(table), *_refused(text))


def _kept(table: Table) -> str:
    if not table.job_description:
        return "The board keeps no job description: the job wants none kept."
    return (
        f"The board keeps its job description, {len(table.job_description)} bytes, revision {table.job_revision}; "
        "`retrofit board PORT save FILE` reads it back into a job file, also when this folder is lost."
    )


def _refused(text: str) -> Iterator[str]:
    suspects = tables_with_refused_run(text)
    if suspects:
        yield (
            f"Three bytes 0x21 in a row may stand in {', '.join(suspects)}. Some boot loaders refuse such an image "
            "(from memory): if loading stops halfway, load with a programmer instead, or move one contact."
        )
