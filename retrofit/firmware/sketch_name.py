"""The name of a sketch folder: legal for the Arduino tools and for every usual file system."""

from __future__ import annotations

import re
import unicodedata
from hashlib import sha256

SKETCH_NAME_LENGTH_MAX = 63
"""Longest name that the Arduino sketch specification allows."""

_PREFIX = "console"
_DIGITS = 8
_DEVICE_NAMES = frozenset(
    {"con", "prn", "aux", "nul", *(f"{port}{number}" for port in ("com", "lpt") for number in range(10))}
)
"""Names that Windows keeps for devices, in any case (Microsoft, Naming Files, Paths, and Namespaces)."""


def sketch_name(job_name: str) -> str:
    """Return a folder name made of the job's name: ASCII letters and digits joined by underscores.

    Letters with accents lose them; what has no ASCII form is left out.  A name without any such letter becomes
    `console-` and the first digits of its SHA-256 digest, which stay while the name stays and tell two such jobs
    apart.  The main file of a sketch has its folder's name, which may hold dashes (Arduino sketch specification).
    """
    plain = unicodedata.normalize("NFKD", job_name).encode("ascii", "ignore").decode("ascii")
    name = "_".join(re.findall(r"[A-Za-z0-9]+", plain)).lower()
    if not re.search("[a-z]", name):
        return f"{_PREFIX}-{sha256(job_name.encode('utf-8', 'backslashreplace')).hexdigest()[:_DIGITS]}"
    if not name[0].isalpha() or name in _DEVICE_NAMES:
        name = f"{_PREFIX}_{name}"
    return name[:SKETCH_NAME_LENGTH_MAX].rstrip("_")
