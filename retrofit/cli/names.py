"""Names given on the command line, held against those of the job."""

from __future__ import annotations

from collections.abc import Sequence

from retrofit.cli.output import Exit, Stop
from retrofit.survey.problems import did_you_mean


def known_name(what: str, name: str, known: Sequence[str]) -> str:
    """Return `name` when it is one of `known`; otherwise end the command with the nearest one, or all of them."""
    if name in known:
        return name
    remedy = did_you_mean(name, known) or f"there are {', '.join(known)}"
    raise Stop(Exit.USAGE, f"there is no {what} {name!r}; {remedy}")
