"""The JSON Schema of a job file."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from typing import Any

from retrofit.survey.job import Job
from retrofit.survey.new_job import NewJob, new_job_text
from retrofit.survey.schema import SCHEMA_FILE_NAME, SCHEMA_LINE, job_schema


def every(node: Any) -> Iterator[dict[str, Any]]:
    """Yield every table inside a schema."""
    if isinstance(node, dict):
        yield node
    for inner in node.values() if isinstance(node, dict) else node if isinstance(node, list) else ():
        yield from every(inner)


def test_the_schema_says_what_it_is() -> None:
    """Dialect (JSON Schema draft 2020-12, core, section 8.1.1), a name of our own that is no address, and a title."""
    schema = job_schema()

    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert schema["$id"] == "urn:retrofit:job:format:1"
    assert schema["title"]
    assert schema["description"]


def test_the_schema_names_every_key_of_a_job() -> None:
    """The keys at the top are those of the model, and unknown ones are refused."""
    schema = job_schema()

    assert set(schema["properties"]) == set(Job.model_fields)
    assert schema["additionalProperties"] is False
    assert {"format", "instrument", "divisions", "groups"} == set(schema["required"])


def test_every_reference_of_the_schema_leads_somewhere() -> None:
    """An editor finds every part."""
    schema = job_schema()
    references = {node["$ref"] for node in every(schema) if isinstance(node.get("$ref"), str)}

    assert references
    assert references - {f"#/$defs/{name}" for name in schema["$defs"]} == set()


def test_every_part_of_the_schema_is_described() -> None:
    """Tables and lists of words carry the sentence that says what they are."""
    assert [name for name, part in job_schema()["$defs"].items() if not part.get("description")] == []


def test_the_schema_tells_editors_what_an_id_is() -> None:
    """Ids carry their pattern, so that an editor marks a wrong one."""
    division = job_schema()["$defs"]["Division"]["properties"]

    assert re.search(division["id"]["pattern"], "open-diapason-8")
    assert not re.search(division["id"]["pattern"], "Open Diapason")


def test_the_schema_is_plain_json_and_always_the_same() -> None:
    """It can be written as it is, and gives the same bytes every time."""
    assert json.dumps(job_schema()) == json.dumps(job_schema())


def test_a_new_file_names_the_schema_on_its_first_line() -> None:
    """Editors take the schema from there."""
    assert new_job_text(NewJob("organ")).splitlines()[0] == SCHEMA_LINE == f"#:schema ./{SCHEMA_FILE_NAME}"
