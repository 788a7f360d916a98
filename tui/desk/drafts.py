"""What was typed and is not, or not yet, part of the job: kept beside it, so that a closed terminal loses nothing."""

from __future__ import annotations

import contextlib
import json
import os
from pathlib import Path

SUFFIX = ".typed"


class Drafts:
    """Texts of fields by a key of the field's, in `JOB.toml.typed`; the file is there only while there are any."""

    def __init__(self, job: Path) -> None:
        self.path = job.with_name(job.name + SUFFIX)
        self._texts = _read(self.path)

    @property
    def keys(self) -> tuple[str, ...]:
        """The fields that have such a text."""
        return tuple(self._texts)

    def get(self, key: str) -> str | None:
        """Return what was typed into a field, None when nothing is pending there."""
        return self._texts.get(key)

    def put(self, key: str, text: str) -> None:
        """Remember what is in a field; `write` keeps it."""
        self._texts[key] = text

    def drop(self, key: str) -> None:
        """Forget a field, because its text is in the job now or was given up."""
        self._texts.pop(key, None)

    def write(self) -> None:
        """Bring the file to what is remembered.  Raises `OSError` when the system refuses."""
        if not self._texts:
            self.path.unlink(missing_ok=True)
            return
        beside = self.path.with_name(f".{self.path.name}.{os.getpid()}")
        try:
            beside.write_text(json.dumps(dict(self._texts), indent=1), encoding="ascii")
            beside.replace(self.path)
        except OSError:
            with contextlib.suppress(OSError):
                beside.unlink()
            raise


def _read(path: Path) -> dict[str, str]:
    """Return the texts of an earlier sitting; a file that is none of ours, or broken, holds none."""
    try:
        found = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return {}
    if not isinstance(found, dict):
        return {}
    return {key: text for key, text in found.items() if isinstance(text, str)}
