"""Consoles whose messages leave by the wire and by USB at once: what each outlet carried once contacts were heard."""

from __future__ import annotations

from retrofit.survey.instrument import MidiOut
from retrofit.survey.job import Job
from tests.emulator.demos import Console
from tests.emulator.harness import CYCLES_PER_US, Seen
from tests.emulator.midi_stream import TimedMessage, decode, decode_packets
from tests.emulator.playing import shoe_messages


def with_both(job: Job) -> Job:
    """Return a job whose messages leave by both outlets."""
    return job.model_copy(update={"wanted": job.wanted.model_copy(update={"midi_out": MidiOut.BOTH})})


def by_wire(console: Console, seen: Seen) -> list[TimedMessage]:
    """Return what contacts brought on the wire; shoes, whose values either outlet may leave out, are not among it."""
    return _of_contacts(console, decode(seen.midi).messages)


def by_usb(console: Console, seen: Seen) -> list[TimedMessage]:
    """Return what contacts brought in event packets."""
    assert seen.usb is not None
    return _of_contacts(console, decode_packets(seen.usb.packets).messages)


def _of_contacts(console: Console, messages: tuple[TimedMessage, ...]) -> list[TimedMessage]:
    begin, shoes = console.listening_us * CYCLES_PER_US, shoe_messages(console.plan)
    return [each for each in messages if each.begins >= begin and each.data[:2] not in shoes]
