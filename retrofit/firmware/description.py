"""The job description that a board keeps in its program memory: written there by a build, read back in later years."""

from __future__ import annotations

from hashlib import sha256

from retrofit.firmware.rows import TableError
from retrofit.plan.as_built import job_as_built, stored_text
from retrofit.plan.model import ConversionPlan
from retrofit.survey.job_text import job_text
from retrofit.survey.packed_text import PackingError, pack_text

DESCRIPTION_BYTES_MAX = 32 * 1024
"""The tables of the firmware lie in the first 64 KiB of program memory; the others take less than the other half."""

REVISION_LENGTH = 8
_REMEDY = 'write wanted.stored_description = "without-remarks" or "none"'


def job_revision(plan: ConversionPlan) -> str:
    """Return a short name of the whole job as built, remarks and conditions included (SHA-256 cut to 32 bits)."""
    text = job_text(job_as_built(plan.job, plan.points))
    return sha256(text.encode("utf-8")).hexdigest()[:REVISION_LENGTH]


def packed_description(plan: ConversionPlan) -> bytes:
    """Return the bytes that the board is to keep; none when the job wants none kept.

    Raises `TableError` when they are more than the firmware's table holds.
    """
    text = stored_text(plan.job, plan.points)
    if not text:
        return b""
    try:
        packed = pack_text(text)
    except PackingError as error:
        raise TableError("the job description", str(error), "no run of them is allowed", _REMEDY) from error
    if len(packed) > DESCRIPTION_BYTES_MAX:
        raise TableError(
            "the job description",
            f"it takes {len(packed)} bytes",
            f"the firmware's table holds {DESCRIPTION_BYTES_MAX}",
            _REMEDY,
        )
    return packed
