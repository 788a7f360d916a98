"""What the wire must carry at its busiest: chords, glissandi, combination changes, shoes, the start, a panic.

How many keys are struck and how quickly is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain

from retrofit.timing.wire import by_channel
from retrofit.timing.wire_kinds import Wire, WireTime
from retrofit.timing.wire_verdicts import Carries, Judgement, judge

FINGERS = 10
FEET = 2
GLISSANDO_US = 500_000.0
CONTROL, DAMPER, ALL_NOTES_OFF = 0xB0, 64, 123
"""Status, damper pedal and All Notes Off (MIDI 1.0, tables I and III)."""


@dataclass(frozen=True, slots=True)
class OnOff:
    """What a contact sends; empty bytes mean that nothing is sent."""

    on: bytes
    off: bytes


@dataclass(frozen=True, slots=True)
class ConsoleMessages:
    """What one console sends.

    `keys` holds one row of keys, from the lowest, for each channel that carries notes.  A shoe is the messages of one
    new value, which it sends every `shoe_interval_us` at most.
    """

    keys: tuple[tuple[OnOff, ...], ...]
    pistons: tuple[OnOff, ...]
    stops: tuple[OnOff, ...]
    shoes: tuple[tuple[bytes, ...], ...]
    shoe_interval_us: float

    @property
    def note_channels(self) -> tuple[int, ...]:
        """Channels 0-15 that carry notes."""
        return tuple(sorted({key.on[0] & 0x0F for row in self.keys for key in row if key.on}))


@dataclass(frozen=True, slots=True)
class Scenario:
    """A burst in the order in which it is sent; `within_us` is how long a stream lasts."""

    id: str
    title: str
    carries: Carries
    messages: tuple[bytes, ...]
    within_us: float | None = None


@dataclass(frozen=True, slots=True)
class Timed:
    """A scenario on one wire: its time, the share of the wire for a stream, and the judgement of the worst case."""

    scenario: Scenario
    wire: str
    time: WireTime
    share: float | None
    judgement: Judgement


def timed(scenario: Scenario, wire: Wire) -> Timed:
    """Return what a scenario takes on a wire, and what that means; a stream's share is the nominal one."""
    time = wire.time(scenario.messages)
    share = None if scenario.within_us is None else time.nominal_us / scenario.within_us
    return Timed(scenario, wire.name, time, share, judge(scenario.carries, time.us_max, share))


def scenarios(console: ConsoleMessages) -> tuple[Scenario, ...]:
    """Return what this console can ask of its wire; what it has no points for is left out."""
    found = (
        *_note_scenarios(console),
        Scenario("combination", "every stop changes at once", Carries.STATES, combination(console.stops)),
        Scenario("chord-and-combination", "a chord while every stop changes", Carries.STATES, everything(console)),
        *_shoe_scenarios(console),
        Scenario("power-on", "silence, stops and shoes at power-on", Carries.STATES, power_on(console)),
        Scenario("panic", "every held note off, then each channel silenced", Carries.STATES, panic(console)),
    )
    return tuple(scenario for scenario in found if scenario.messages)


def _note_scenarios(console: ConsoleMessages) -> tuple[Scenario, ...]:
    manual = max(console.keys, key=len, default=())
    single = (
        Scenario("chord", f"{FINGERS} keys of one manual at once", Carries.NOTES, _ons(manual[:FINGERS])),
        Scenario("glissando", "all keys of a manual in half a second", Carries.STREAM, glissando(manual), GLISSANDO_US),
    )
    if len(console.keys) < 2:
        return single
    struck = tutti(console.keys)
    return (
        *single,
        Scenario("tutti", f"{FINGERS} keys on every channel, key by key", Carries.NOTES, struck),
        Scenario("tutti-by-channel", "the same, channel by channel", Carries.NOTES, by_channel(struck)),
    )


def _shoe_scenarios(console: ConsoleMessages) -> tuple[Scenario, ...]:
    moving = tuple(chain.from_iterable(console.shoes))
    return (Scenario("shoes", "every shoe moving", Carries.STREAM, moving, console.shoe_interval_us),)


def _ons(contacts: Sequence[OnOff]) -> tuple[bytes, ...]:
    return tuple(contact.on for contact in contacts if contact.on)


def glissando(keys: Sequence[OnOff]) -> tuple[bytes, ...]:
    """Return a hand sliding over a row of keys: each on and off again before the next."""
    return tuple(message for key in keys for message in (key.on, key.off) if message)


def tutti(rows: Sequence[Sequence[OnOff]], struck: int = FINGERS) -> tuple[bytes, ...]:
    """Return keys struck one after another, each of which sounds on every channel, as behind couplers."""
    return tuple(message for place in range(struck) for row in rows for message in _ons(row[place : place + 1]))


def combination(stops: Sequence[OnOff]) -> tuple[bytes, ...]:
    """Return every stop changing, on and off in turn, which breaks running status where on and off differ in status."""
    return tuple(message for i, stop in enumerate(stops) if (message := stop.off if i % 2 else stop.on))


def by_urgency(
    notes: Sequence[bytes], pistons: Sequence[bytes], stops: Sequence[bytes], shoes: Sequence[bytes]
) -> tuple[bytes, ...]:
    """Return what waits at one moment in the order in which it is sent."""
    return (*notes, *pistons, *stops, *shoes)


def everything(console: ConsoleMessages) -> tuple[bytes, ...]:
    """Return a chord of hands and feet, one piston, every stop and every shoe, all waiting at one moment."""
    rows = sorted(console.keys, key=len, reverse=True)
    notes = [message for row, many in zip(rows, (FINGERS, FEET), strict=False) for message in _ons(row[:many])]
    shoes = tuple(chain.from_iterable(console.shoes))
    return by_urgency(notes, _ons(console.pistons[:1]), combination(console.stops), shoes)


def power_on(console: ConsoleMessages) -> tuple[bytes, ...]:
    """Return what the board sends by itself: All Notes Off on each note channel, the state of stops and of shoes."""
    states = tuple(stop.on or stop.off for stop in console.stops if stop.on or stop.off)
    return (*_controls(console, ALL_NOTES_OFF), *states, *chain.from_iterable(console.shoes))


def panic(console: ConsoleMessages) -> tuple[bytes, ...]:
    """Return the end of all that hands and feet can hold, then damper off and All Notes Off on each note channel."""
    rows = sorted(console.keys, key=len, reverse=True)
    offs = (key.off for row, many in zip(rows, (FINGERS, FEET), strict=False) for key in row[:many] if key.off)
    return (*offs, *_controls(console, DAMPER, ALL_NOTES_OFF))


def _controls(console: ConsoleMessages, *controllers: int) -> tuple[bytes, ...]:
    return tuple(bytes((CONTROL | channel, number, 0)) for channel in console.note_channels for number in controllers)
