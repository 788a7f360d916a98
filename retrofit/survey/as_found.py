"""The as-found record: once it is locked, its readings are held against the digest that was taken of them."""

from __future__ import annotations

from datetime import date
from typing import Annotated

from pydantic import Field

from retrofit.survey.base import Initials, Record

DIGEST_PATTERN = r"^[0-9a-f]{16}$"


class Lock(Record):
    """Who closed the record on which day, and the digest of the readings of that day and earlier."""

    date: date
    initials: Initials
    digest: Annotated[str, Field(pattern=DIGEST_PATTERN)]


class AsFound(Record):
    """The state of the as-found record; without a lock it is still being written."""

    locked: Lock | None = None
