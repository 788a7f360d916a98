"""Faults in the wiring below all addresses: done to a console, and a diagnosis translated back into them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from random import Random

from retrofit.proving.diagnosis.causes import Cause, Kind
from retrofit.proving.diagnosis.rig import Rig
from retrofit.rehearsal.standin.faults.grammar import parse_fault, random_fault
from retrofit.rehearsal.standin.faults.kind import Fault
from retrofit.rehearsal.standin.faults.names import FaultError, Names
from retrofit.rehearsal.standin.from_plan import wiring_of
from retrofit.rehearsal.standin.still import StillConsole
from tests.proving.diagnosis.consoles import Console, catalogue
from tests.proving.diagnosis.person import Heard

DRAWN = (
    "cut wire",
    "cut return",
    "join",
    "ground wire",
    "swap wires",
    "shift wires",
    "mirror wires",
    "turn connector",
    "swap connectors",
    "shift connector",
    "dead contact",
    "stuck contact",
    "short diode",
    "reverse diode",
    "open diode",
    "bridge diodes",
    "reverse diodes",
    "no data behind register",
    "no power at register",
    "no load at register",
    "extra clock at register",
    "lost clock at register",
    "stuck input",
    "bleed multiplexer",
    "missing expander",
    "couple",
    "bent contact",
    "reverse polarity",
    "set channel",
    "transpose",
)
"""Kinds of fault that change what is heard of a press, however it is timed."""


def heard_with(console: Console, faults: Iterable[Fault]) -> Heard:
    """Return a console with faults in it."""
    wiring = wiring_of(console.plan, catalogue())
    for fault in faults:
        fault.spoil(wiring)
    return Heard(console.plan, StillConsole(console.plan, wiring))


def names_of(console: Console, *groups: str) -> Names:
    """Return the parts of a console by name, those of some groups alone for random faults."""
    return Names(console.plan, wiring_of(console.plan, catalogue()).wires, groups)


def draw_fault(console: Console, random: Random) -> Fault:
    """Return a random fault of a random kind of the first manual."""
    names = names_of(console, "great")
    while True:
        fault = random_fault(random.choice(DRAWN), names, random)
        if fault is not None:
            return fault


def translated(console: Console, causes: Sequence[Cause]) -> list[Fault] | None:
    """Return the faults that causes stand for, or None where one names something that cannot be done to the wiring."""
    names = names_of(console)
    try:
        return [parse_fault(_words(console.rig, cause), names) for cause in causes]
    except FaultError:
        return None


def _level(high: bool) -> str:
    return "high" if high else "low"


def _way(step: int) -> str:
    return "up" if step > 0 else "down"


_FORMS: dict[Kind, str | Callable[..., str]] = {
    Kind.SLIPPED: lambda _rig, register, step: f"{'extra' if step > 0 else 'lost'} clock at register {register}",
    Kind.STEPPED: lambda rig, p, step: f"shift wires {rig.contacts[p].group} from {p} {_way(step)}",
    Kind.OFF_ONE: lambda _rig, connector, step: f"shift connector {connector} {_way(step)}",
    Kind.REGISTER_DEAD: lambda rig, lane, high: f"no load at register {rig.lanes[lane].order} {_level(high)}",
    Kind.CHAIN_DEAD: lambda _rig, register, high: f"no power at register {register} {_level(high)}",
    Kind.INPUT_STUCK: lambda _rig, pin, high: f"stuck input {pin} {_level(high)}",
    Kind.EXPANDER_DEAD: lambda _rig, where: f"missing {where}",
    Kind.BLEED: lambda _rig, bank, bit: f"bleed multiplexer {8 * (int(bank) - 1) + bit + 1}",
    Kind.JOINED: "join {} and {}",
    Kind.CROSSED: "swap wires {} and {}",
    Kind.EXCHANGED: "swap connectors {} and {}",
    Kind.BENT: "bent contact {} and {}",
    Kind.COUPLED: "couple {} to {}",
    Kind.CHANNEL: "set channel {} {}",
    Kind.SHIFTED: "transpose {} {}",
    Kind.DEAD: "dead contact {}",
    Kind.LINE_DEAD: "cut wire {}",
    Kind.BUS_DEAD: "cut return {}",
    Kind.TURNED: "turn connector {}",
    Kind.MIRRORED: "mirror wires {}",
    Kind.GROUNDED: "ground wire {}",
    Kind.HELD: "stuck contact {}",
    Kind.DIODE_SHORTED: "short diode {}",
    Kind.DIODE_REVERSED: "reverse diode {}",
    Kind.DIODES_MISSING: "bridge diodes {}",
    Kind.DIODES_REVERSED: "reverse diodes {}",
    Kind.INVERTED: "reverse polarity {}",
    Kind.DOUBLED: "doubled {} {}",
}
"""How a cause is written as a fault of the wiring; one that is no such fault is refused when it is read."""


def _words(rig: Rig, cause: Cause) -> str:
    form = _FORMS[cause.kind]
    return form(rig, *cause.parts) if callable(form) else form.format(*cause.parts)


Signature = tuple[frozenset[str], tuple[frozenset[str], ...], tuple[frozenset[str], ...]]


def signature(console: Console, heard: Heard) -> Signature:
    """Return all that the permitted tests let hear: the idle picture, every single press and every chord."""
    presses = tuple(heard.pressed((contact.point,)) for contact in console.rig.group("great"))
    return heard.idle, presses, tuple(heard.held(chord) for chord in console.chords)
