"""The files of the project as version control sees them."""

from __future__ import annotations

import subprocess
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


@cache
def project_files() -> tuple[Path, ...]:
    """Return every file that is or would be kept, relative to the root; built and installed files are left out."""
    listed = subprocess.run(
        ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
        cwd=ROOT,
        check=True,
        capture_output=True,
    ).stdout.decode()
    return tuple(Path(name) for name in sorted(listed.split("\0")) if name and (ROOT / name).is_file())


def python_files() -> list[Path]:
    """Return the Python files of the project, relative to the root."""
    return [path for path in project_files() if path.suffix == ".py"]
