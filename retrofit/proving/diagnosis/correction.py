"""Correcting the table instead of the wiring: where every contact is really read, when all are read somewhere."""

from __future__ import annotations

from collections.abc import Sequence

from retrofit.proving.diagnosis.causes import PERMUTATIONS, Cause
from retrofit.proving.diagnosis.hearing import Hearing
from retrofit.proving.diagnosis.rig import Rig


def correction(rig: Rig, causes: Sequence[Cause], hearing: Hearing) -> dict[str, str] | None:
    """Return for each contact that is read elsewhere the contact whose address it should be given, or None.

    Only where nothing but order is wrong, and the contacts that moved have exchanged their addresses among each other:
    a short, or a wire that leads nowhere, is mended with an iron and not in a table.
    """
    if not causes or any(cause.kind not in PERMUTATIONS for cause in causes):
        return None
    moved: dict[str, str] = {}
    for point in rig.contacts:
        if point not in rig.messages:
            continue
        heard = hearing.press(point)
        if len(heard) != 1:
            return None
        (name,) = heard
        if name != point:
            moved[point] = name
    return moved if set(moved) == set(moved.values()) and moved else None
