"""What the firmware's table says of MIDI as a whole: the outlets, what is listened to, and the pistons of a panic."""

from __future__ import annotations

from dataclasses import dataclass

from retrofit.firmware.rows import TableError
from retrofit.plan.model import ConversionPlan
from retrofit.scan.layout import ScanLayout


@dataclass(frozen=True, slots=True)
class MidiSizes:
    """The fields of `Sizes` that concern MIDI; `panic` holds the two contacts of a panic, or none."""

    wire: int
    usb: int
    listen_stops: int
    panic: tuple[int, ...]

    @property
    def panic_contacts(self) -> tuple[int, int]:
        """The two contacts, or zeros where there is no such panic."""
        first, second = self.panic or (0, 0)
        return first, second


def midi_sizes(plan: ConversionPlan) -> MidiSizes:
    """Return what the table says of MIDI.  Raises `TableError` when a piston of the panic is not read."""
    wanted = plan.job.wanted
    panic = tuple(_contact(point, plan.layout) for point in wanted.panic)
    return MidiSizes(int(wanted.by_din), int(wanted.by_usb), int(wanted.listen_to_stops), panic)


def _contact(point: str, layout: ScanLayout) -> int:
    """Return the firmware's number of a contact, lane * 8 + bit."""
    for number, lane in enumerate(layout.lanes):
        if point in lane.points:
            return number * 8 + lane.points.index(point)
    raise TableError(
        point,
        "it is to take part in a panic and has no place among the contacts that are read",
        "two pistons that take part",
        "choose another piston under wanted.panic",
    )
