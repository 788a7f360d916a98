"""The JSON Schema of a job file, for editors that complete and check while the user types."""

from __future__ import annotations

from typing import Any

from retrofit.survey.job import FORMAT, Job

SCHEMA_FILE_NAME = "retrofit-job.schema.json"
"""The name under which the schema lies beside job files."""

SCHEMA_LINE = f"#:schema ./{SCHEMA_FILE_NAME}"
"""First line of a new job file: language servers for TOML take the schema from it."""

_DIALECT = "https://json-schema.org/draft/2020-12/schema"


def job_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of a job file, as plain data."""
    shape = Job.model_json_schema()
    head = {
        "$schema": _DIALECT,
        "$id": f"urn:retrofit:job:format:{FORMAT}",
        "title": "Console conversion job",
        "description": "One instrument whose console is converted to MIDI: what was found and what is wanted.",
    }
    return head | {key: value for key, value in shape.items() if key not in head}
