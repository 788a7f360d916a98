"""What the counts of a console say of its contacts, in plain words, with figures, limit and reason.

Nothing is accused on few strokes: each signature says whether there were enough, and how many are needed.  Points from
which nothing is expected are never accused.
"""

from __future__ import annotations

from retrofit.proving.contact_signatures import contact_signatures
from retrofit.proving.doubles import double_signatures
from retrofit.proving.engine import Engine
from retrofit.proving.signature import Signature


def signatures_of(engine: Engine, now_us: int) -> list[Signature]:
    """Return all that is recognised by now, in the order of the console's contacts."""
    return [*contact_signatures(engine, now_us), *double_signatures(engine)]
