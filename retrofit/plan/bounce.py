"""What is known of the bounce of a group's contacts."""

from __future__ import annotations

from collections.abc import Mapping

from retrofit.catalogue.parts import Cleanliness, Contact
from retrofit.survey.contacts import Group
from retrofit.timing.choose import ContactBounce


def contact_bounce(group: Group, contacts: Mapping[str, Contact]) -> ContactBounce:
    """Return what is known of the bounce of a group's contacts, measured before remembered."""
    wiring = group.wiring
    kind = contacts.get(wiring.contact)
    longest = kind.bounce.greatest if kind and kind.bounce else None
    return ContactBounce(
        measured_ms=wiring.bounce.value * 1000 if wiring.bounce.value is not None else None,
        strokes=wiring.bounce_strokes,
        kind_max_ms=longest,
        kind_source=kind.bounce.source if kind and kind.bounce else "",
        dirty=_dirty(kind),
    )


def _dirty(kind: Contact | None) -> bool | None:
    if kind is None or kind.cleanliness is Cleanliness.UNKNOWN:
        return None
    return kind.cleanliness is Cleanliness.DIRTY
