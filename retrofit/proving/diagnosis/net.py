"""What of a console is supposed to differ from its plan."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

from retrofit.proving.diagnosis.paths import Node
from retrofit.proving.diagnosis.rig import Pin, Rig, Role

RETURN, SUPPLY = Role.RETURN, Role.SUPPLY


class Diode(StrEnum):
    """What stands in for a sound diode."""

    SHORTED = "shorted"
    REVERSED = "reversed"


@dataclass
class Net:
    """What of a console is supposed to differ from its plan.

    `plugged` are wires that end in another pin of a plug (None: in none), `mated` pins of plugs that meet another pin
    of a header.  `joined` are pins of plugs, buses or rails that touch.  `read` tells what a place shows instead of its
    own input, `with_` which place shows through as well.  `coupled` are groups whose keys sound those of another too,
    `bent` points whose key moves the contact of another, `doubled` groups that sound on a second channel as well.
    """

    rig: Rig
    plugged: dict[Pin, Pin | None] = field(default_factory=dict)
    mated: dict[Pin, Pin | None] = field(default_factory=dict)
    joined: list[tuple[Node, Node]] = field(default_factory=list)
    cut_buses: set[str] = field(default_factory=set)
    dead: set[str] = field(default_factory=set)
    held: set[str] = field(default_factory=set)
    diodes: dict[str, Diode] = field(default_factory=dict)
    read: dict[int, int | bool] = field(default_factory=dict)
    with_: dict[int, int] = field(default_factory=dict)
    inverted: set[str] = field(default_factory=set)
    channels: dict[str, int] = field(default_factory=dict)
    semitones: dict[str, int] = field(default_factory=dict)
    coupled: list[tuple[str, str]] = field(default_factory=list)
    bent: list[tuple[str, str]] = field(default_factory=list)
    doubled: dict[str, int] = field(default_factory=dict)

    def header(self, wire: Pin) -> Pin | None:
        """Return the pin of a header that a wire meets, or None."""
        plug = self.plugged.get(wire, wire)
        return None if plug is None else self.mated.get(plug, plug)

    def shown_at(self, pin: Pin) -> Pin:
        """Return the pin whose input shows where that of another should; the same one where nothing slipped."""
        lead = self.rig.leads.get(pin)
        if lead is None or lead.role is not Role.INPUT:
            return pin
        source = self.read.get(lead.number)
        return pin if source is None or isinstance(source, bool) else self.rig.input_pins.get(source, pin)

    def plug_at(self, header: Pin) -> Pin:
        """Return the pin of a plug that meets a pin of a header; of the same name where none does."""
        return next((plug for plug, met in self.mated.items() if met == header), header)

    def wire_at(self, header: Pin) -> Pin:
        """Return the wire that meets a pin of a header; the pin itself where none does."""
        plug = self.plug_at(header)
        return next((wire for wire, end in self.plugged.items() if end == plug), plug)
