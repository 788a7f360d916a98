"""Names given on the command line, held against those of the job."""

from __future__ import annotations

from collections.abc import Sequence

from retrofit.cli.output import Exit, Stop
from retrofit.survey.problems import did_you_mean

_IN_A_SENTENCE = 8
"""So many names are listed in the sentence; more stand one to a line."""


def known_name(what: str, name: str, known: Sequence[str]) -> str:
    """Return `name` when it is one of `known`; otherwise end the command with the nearest one, or all of them."""
    if name in known:
        return name
    remedy = did_you_mean(name, known)
    if not remedy and len(known) > _IN_A_SENTENCE:
        raise Stop(Exit.USAGE, f"there is no {what} {name!r}; there are", *(f"  {word}" for word in known))
    raise Stop(Exit.USAGE, f"there is no {what} {name!r}; {remedy or _all(known)}")


def _all(known: Sequence[str]) -> str:
    return f"there are {', '.join(known)}"
