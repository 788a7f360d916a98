"""Short ids made from a user's words."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator

LENGTH = 40


def slugs(texts: Iterable[str], taken: Iterable[str] = ()) -> Iterator[str]:
    """Yield for each text its lower-case words joined by hyphens, a number added where that is taken already."""
    used = set(taken)
    for text in texts:
        plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode().lower()
        base = _cut(re.sub(r"[^a-z0-9]+", "-", plain).strip("-")) or "unnamed"
        name, number = base, 2
        while name in used:
            name, number = f"{base}-{number}", number + 1
        used.add(name)
        yield name


def _cut(name: str) -> str:
    """Return a name of at most `LENGTH` letters, cut between words where there is more than one."""
    return name if len(name) <= LENGTH else name[: LENGTH + 1].rpartition("-")[0] or name[:LENGTH]
