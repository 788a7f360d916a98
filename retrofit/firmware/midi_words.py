"""What the firmware says and recognises by MIDI beyond the messages of its points, as sentences for people."""

from __future__ import annotations

from collections.abc import Iterator

from retrofit.plan.model import ConversionPlan
from retrofit.survey.instrument import MidiOut, Wanted

_OUTLETS = {
    MidiOut.DIN: "Messages leave by DIN, with running status where the job asks for it.",
    MidiOut.USB: (
        "Messages leave by USB, as event packets of cable 0. While the computer is away or takes nothing they wait; "
        "after a second without taking any it counts as away, and everything begins anew when it is back."
    ),
    MidiOut.BOTH: (
        "Messages leave by DIN and, as event packets of cable 0, by USB. A computer that is away or takes nothing "
        "never keeps DIN waiting: it is left out, and is sent silence and then the state when it is back."
    ),
}


def midi_sentences(plan: ConversionPlan) -> tuple[str, ...]:
    """Return what stands in no message list: outlets, power-on, what is recognised, and the panic."""
    wanted = plan.job.wanted
    return (_OUTLETS[wanted.midi_out], *_begins(wanted), " ".join(_recognised(wanted)), *_panic(wanted))


def _begins(wanted: Wanted) -> Iterator[str]:
    held = "keys and pistons that are held (F0 7D 01 high low F7, muted until released), " * wanted.report_held_at_start
    yield (
        "At power-on, and after any other start: All Notes Off (controller 123) on each channel that carries notes, "
        f"then {held}then stops, then shoes."
    )


def _recognised(wanted: Wanted) -> Iterator[str]:
    yield "Recognised when it comes in:"
    yield "All Sound Off and All Notes Off (controllers 120 and 123) on a channel that carries notes here: what sounds"
    yield "there is ended with its own note-offs, and held keys stay silent until released;"
    yield "F0 7D 02 F7: stops and shoes are sent again, once a second at most;"
    yield "Identity Request (F0 7E 7F 06 01 F7): Identity Reply of manufacturer 7D."
    if wanted.listen_to_stops:
        yield "A stop's own message is an order: it is not echoed, and how the tab stands is said if it has not obeyed"
        yield "half a second later; no coil is driven by this board."
    yield "Nothing else is acted on, and nothing is passed on."


def _panic(wanted: Wanted) -> Iterator[str]:
    if wanted.panic:
        pistons = " and ".join(wanted.panic)
        yield (
            f"Panic: {pistons} held together for two seconds end every note that sounds, then send All Notes Off and "
            "damper off on each channel that carries notes; shoes are left alone, stops are said again. What the "
            "pistons send themselves is sent as ever."
        )
