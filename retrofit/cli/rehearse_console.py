"""The stand-in console as something to listen to: in virtual time, in real time, or through real MIDI ports."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from types import TracebackType
from typing import Self

from retrofit.catalogue.load import load_catalogue
from retrofit.cli.output import Exit, Stop, talk
from retrofit.cli.prove_person import MonotonicClock
from retrofit.plan.model import ConversionPlan
from retrofit.proving.ports.errors import PortError
from retrofit.proving.ports.midi_in import MidiInput
from retrofit.proving.ports.midi_out import MidiOutput
from retrofit.proving.runs.clock import Clock, HeardClock
from retrofit.proving.runs.limits import SECOND_US
from retrofit.proving.sources import Losses, Source
from retrofit.rehearsal.standin.console import StandIn
from retrofit.rehearsal.standin.faults.names import FaultError
from retrofit.rehearsal.standin.stand_ins import Setup, stand_in

PORT = "stand-in console"
"""What the stand-in is called among the system's MIDI ports."""
SETTLE_US = 6 * SECOND_US
"""Long enough after power-on for a board to have said how its stops and shoes stand."""


class StandInSource:
    """A source that lets a stand-in console's time pass with a clock; `begun_us` is when it was switched on."""

    words = PORT
    away = False
    ended = False
    losses = Losses()

    def __init__(self, console: StandIn, clock: Clock) -> None:
        self.console = console
        self._clock = clock
        self.begun_us = clock.now_us()

    def poll(self) -> list[tuple[int, bytes]]:
        """Return what the console has said by now."""
        sent = self.console.advance(self._clock.now_us() - self.begun_us)
        return [(time_us + self.begun_us, message) for time_us, message in sent]

    def __enter__(self) -> Self:
        """Switch nothing on: the console stands since it was made."""
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Leave it as it is."""


class PortedSource:
    """A stand-in console behind a real MIDI port: what it says goes out there, and is listened to as any console is."""

    def __init__(self, source: StandInSource, output: MidiOutput, heard: MidiInput) -> None:
        self._source, self._output, self._heard = source, output, heard

    ended = False

    @property
    def words(self) -> str:
        """The port's name."""
        return self._heard.words

    @property
    def away(self) -> bool:
        """Whether the port is not there now."""
        return self._heard.away

    @property
    def losses(self) -> Losses:
        """What was lost on the way."""
        return self._heard.losses

    def poll(self) -> list[tuple[int, bytes]]:
        """Send what the console has said by now; return what has come back through the port."""
        for _, message in self._source.poll():
            self._output.send(message)
        return self._heard.poll()

    def __enter__(self) -> Self:
        """The ports are open already."""
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """The ports are closed where they were opened."""


class Stage:
    """A stand-in console, the clock that its time goes by, and the source by which it is heard.

    `opening` is what its board said at power-on: how stops and shoes stand, and what is held.
    """

    def __init__(
        self, console: StandIn, clock: Clock, source: Source, begun_us: int, opening: tuple[bytes, ...]
    ) -> None:
        self.console, self.clock, self.source, self.opening = console, clock, source, opening
        self._begun_us = begun_us

    def console_us(self) -> int:
        """Return the console's own time now."""
        return self.clock.now_us() - self._begun_us


def made_console(plan: ConversionPlan, faults: tuple[str, ...], seed: int) -> StandIn:
    """Return the stand-in of a plan with faults; end the command for one that cannot be done."""
    try:
        return stand_in(plan, load_catalogue(), Setup(faults, seed))
    except FaultError as error:
        raise Stop(Exit.USAGE, f"--fault {error}", "see: retrofit rehearse --list-faults") from error


@contextmanager
def on_stage(console: StandIn, fast: bool, ports: bool) -> Iterator[Stage]:
    """Switch a stand-in on and let it settle; where ports are wanted and the system has none, say so and go on."""
    clock: Clock = HeardClock() if fast else MonotonicClock()
    source = StandInSource(console, clock)
    source.begun_us -= SETTLE_US
    opening = tuple(message for _, message in source.poll())
    if not ports:
        yield Stage(console, clock, source, source.begun_us, opening)
        return
    with _ported(source) as heard:
        yield Stage(console, clock, heard, source.begun_us, opening)


@contextmanager
def _ported(source: StandInSource) -> Iterator[Source]:
    opened = _open_ports()
    if opened is None:
        yield source
        return
    output, heard = opened
    try:
        yield PortedSource(source, output, heard)
    finally:
        heard.close()
        output.close()


def _open_ports() -> tuple[MidiOutput, MidiInput] | None:
    """Return an output that other programs see as a port, and an input that listens to it; None where neither goes."""
    output = MidiOutput(PORT, virtual=True)
    try:
        output.__enter__()
    except PortError as error:
        talk(f"{error}; the rehearsal stays inside this program")
        return None
    heard = MidiInput(PORT)
    try:
        heard.__enter__()
    except PortError as error:
        output.close()
        talk(f"{error}; the rehearsal stays inside this program")
        return None
    talk(f"the stand-in is the MIDI port '{heard.words}'")
    return output, heard
