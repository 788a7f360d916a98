"""Which jobs were open last: paths in a small file of the user's own folder."""

from __future__ import annotations

import contextlib
import json
from pathlib import Path

from platformdirs import user_state_path

KEPT = 12


def recent_file() -> Path:
    """Return where the list is kept."""
    return user_state_path("console-retrofit") / "recent.json"


def recent_jobs() -> tuple[Path, ...]:
    """Return the job files that were open last, the last one first; none where the list cannot be read."""
    try:
        found = json.loads(recent_file().read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return ()
    return tuple(Path(name) for name in found if isinstance(name, str)) if isinstance(found, list) else ()


def remember(path: Path) -> None:
    """Put a job file at the head of the list; a folder that cannot be written only means that nothing is remembered."""
    path = path.absolute()
    _write([path, *(other for other in recent_jobs() if other != path)])


def forget(path: Path) -> None:
    """Take a job file off the list."""
    _write([other for other in recent_jobs() if other != path])


def _write(paths: list[Path]) -> None:
    with contextlib.suppress(OSError):
        recent_file().parent.mkdir(parents=True, exist_ok=True)
        recent_file().write_text(json.dumps([str(path) for path in paths[:KEPT]]), encoding="utf-8")
