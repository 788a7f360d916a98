"""Tools that some tests need beside Python: required in continuous integration, asked for by name elsewhere."""

from __future__ import annotations

import os
import shutil
from typing import NoReturn

import pytest


def require_tool(command: str, package: str) -> str:
    """Return the path of `command`; where it is missing, leave the test out and name the Debian package to install."""
    found = shutil.which(command)
    if found is None:
        leave_out(f"{command} is not installed; on Debian: apt-get install {package}")
    return found


def leave_out(message: str) -> NoReturn:
    """Skip the test with `message`; in continuous integration (`CI=true`) nothing may be left out, and it fails."""
    if os.environ.get("CI") == "true":
        pytest.fail(message)
    pytest.skip(message)
