"""A console made from a plan: where each point's contact sits, what it does to a line, and what its bounce means there.

Which level a closed contact gives is worked out here once more from what the job says of the wiring, so that a wrong
polarity in the plan or in the firmware is heard.  Spare inputs have constant levels drawn by chance.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from random import Random

from retrofit.catalogue.load import load_catalogue
from retrofit.catalogue.parts import Board
from retrofit.plan.model import ConversionPlan, PointPlan
from retrofit.scan.addresses import (
    ChainAddress,
    ContactAddress,
    ConverterAddress,
    ExpanderAddress,
    ListenAddress,
    MatrixAddress,
    MultiplexerAddress,
    PinAddress,
)
from retrofit.scan.layout import BankLayout, MatrixLayout
from retrofit.survey.contacts import GroupBase
from retrofit.survey.wishes import Interface, Sense
from tests.emulator.bounce import Edge
from tests.emulator.harness import CYCLES_PER_US, Bank, Chain, Event, Expander, Matrix, Port, Scanner, Scenario, cycles

ON_OHMS, PULL_UP_OHMS = 270.0, 10e3
"""The switch of a 74HC4051 at 4.5 V and 125 °C (Nexperia 74HC4051 rev. 9, table 6), and the fitted pull-up."""


@dataclass(frozen=True)
class Contact:
    """A point's contact: its address, the level that closing it gives, and whether it is closed at rest."""

    address: ContactAddress
    closed_level: int
    closed_at_rest: bool

    def event(self, cycle: float, on: bool) -> Event:
        """Return the event that puts the point on or off."""
        closed = on is not self.closed_at_rest
        level = self.closed_level if closed else 1 - self.closed_level
        match self.address:
            case ChainAddress(register, bit):
                return (cycle, "chain", register, bit, level)
            case MatrixAddress(matrix, row, column):
                return (cycle, "matrix", matrix - 1, row, column, int(closed))
            case PinAddress(_, port, bit):
                return (cycle, "port", port, bit, level)
            case MultiplexerAddress(multiplexer, number):
                bank, bit = divmod(multiplexer - 1, 8)
                return (cycle, "multiplexer", bank, number, bit, level)
            case ExpanderAddress(expander, pin):
                return (cycle, "expander", expander - 1, pin, level)
            case ListenAddress(strobe, line):
                return (cycle, "listen", strobe, line, int(closed))


class Stage:
    """The contacts of a planned console, ready to be moved."""

    def __init__(self, plan: ConversionPlan, spare_seed: int = 1) -> None:
        self.plan = plan
        groups = {group.id: group for group in plan.job.groups}
        self.contacts = {
            each.point.id: contact
            for each in plan.points
            if (contact := _contact(each, groups[each.point.group])) is not None
        }
        self.converters = {
            each.point.id: each.address.channel for each in plan.points if isinstance(each.address, ConverterAddress)
        }
        self._spare = Random(spare_seed)

    def events(self, point: str, edges: Iterable[Edge]) -> list[Event]:
        """Return what edges, True for on, do to the point's line; times of edges in microseconds."""
        contact = self.contacts[point]
        return [contact.event(time * CYCLES_PER_US, on) for time, on in edges]

    def shoe_event(self, shoe: str, time_us: float, counts: int) -> Event:
        """Return a shoe's moving to a position in converter counts."""
        return (time_us * CYCLES_PER_US, "converter", self.converters[shoe], counts)

    def scenario(
        self,
        image: Path,
        run_ms: float,
        events: Iterable[Event] = (),
        *,
        held: Iterable[str] = (),
        shoes: dict[str, int] | None = None,
        resets: tuple[tuple[int, str], ...] = (),
        keep_marks: bool = False,
    ) -> Scenario:
        """Return a scenario: every point off but those `held`, shoes at their counts (closed unless said)."""
        at_start = [contact.event(0, point in set(held)) for point, contact in self.contacts.items()]
        return Scenario(
            hex=image,
            board=self.plan.board,
            cycles=cycles(ms=run_ms),
            chain=self._chain(),
            matrices=tuple(self._matrix(matrix) for matrix in self.plan.layout.matrices),
            banks=self._banks(),
            expanders=self._expanders(),
            scanner=self._scanner(),
            ports=self._ports(),
            converters=self._closed_shoes() | {self.converters[shoe]: counts for shoe, counts in (shoes or {}).items()},
            events=(*at_start, *events),
            resets=resets,
            keep_marks=keep_marks,
        )

    def _closed_shoes(self) -> dict[int, int]:
        """Return the counts of every converter channel with its shoe closed as measured, or 0."""
        full_scale = 2 ** round(self._board.figures["converter_bits"].usual) - 1
        closed = {each.point.id: each.point.shoe.closed_reading for each in self.plan.points if each.point.shoe}
        return {channel: round((closed[shoe] or 0) * full_scale) for shoe, channel in self.converters.items()}

    def _chain(self) -> Chain | None:
        registers = self.plan.layout.registers
        if not registers:
            return None
        load = [pin for pin, use in self._board.chain_pins.items() if use == "chain load"]
        initial = tuple(self._spare.randrange(256) for _ in range(registers))
        return Chain(registers, latch=self._places(load)[0], initial=initial)

    @property
    def _board(self) -> Board:
        return load_catalogue().boards[self.plan.board]

    def _places(self, names: Iterable[str]) -> tuple[tuple[str, int], ...]:
        pins = [self._board.pin(name) for name in names]
        return tuple((pin.port, pin.bit) for pin in pins if pin is not None)

    def _banks(self) -> tuple[Bank, ...]:
        """Return a bank for every number up to the last, as events count them."""
        """Return a bank for every number up to the last, as events count them; a number without one joins no port."""
        banks = {bank.number: bank for bank in self.plan.layout.banks}
        nothing = Bank(select=(), common_port="", levels=(0,))
        numbers = range(1, max(banks, default=0) + 1)
        return tuple(self._bank(banks[number]) if number in banks else nothing for number in numbers)

    def _bank(self, bank: BankLayout) -> Bank:
        return Bank(
            select=self._places(bank.select_pins),
            common_port=bank.common_port,
            levels=tuple(self._spare.randrange(256) for _ in range(2 ** len(bank.select_pins))),
            settle_cycles=cycles(us=bank.settle_us),
            on_share=ON_OHMS / PULL_UP_OHMS,
        )

    def _expanders(self) -> tuple[Expander, ...]:
        """Return an expander for every number up to the last; one that the plan does not have is away."""
        fitted = self.plan.layout.expanders
        return tuple(
            Expander(0x20 + number - 1, (self._spare.randrange(256), self._spare.randrange(256)), number not in fitted)
            for number in range(1, max(fitted, default=0) + 1)
        )

    def _matrix(self, matrix: MatrixLayout) -> Matrix:
        return Matrix(
            rows=self._places(matrix.row_pins),
            column_port=matrix.column_port,
            columns=matrix.columns,
            # As slow as the plan allows for: reading sooner than planned sees the old level.  Falling may take half of
            # the wait, so that a column is well down when it has to rise again.
            settle_cycles=cycles(us=matrix.settle_us) // 2,
            rise_cycles=cycles(us=matrix.rise_us),
            charge_cycles=cycles(us=matrix.precharge_us),
        )

    def _scanner(self) -> Scanner | None:
        """Return the organ's scanner as the survey has it, at the ends of what its readings leave open."""
        listener = self.plan.layout.listener
        if listener is None:
            return None
        group = next(group for group in self.plan.job.groups if group.wanted.interface is Interface.LISTEN)
        found = group.wiring.strobes
        if found is None or found.period.value is None or found.width.value is None:
            raise ValueError(f"the scanner of {group.id} was not read")
        pins = [
            (port, bit)
            for port, bits in zip(listener.return_ports, listener.return_bits, strict=True)
            for bit in range(8)
            if bits >> bit & 1
        ]
        return Scanner(
            strobes=self._places(listener.strobe_pins),
            returns=tuple(pins),
            period_cycles=cycles(us=1e6 * found.period.value),
            width_cycles=cycles(us=1e6 * found.width.value * 0.97),
            settle_cycles=cycles(us=listener.settle_us),
            jitter_cycles=cycles(us=0.005e6 * found.period.value),
            active_low=listener.active_low,
            keyed_high=closed_level(group) == 1,
        )

    def _ports(self) -> dict[str, Port]:
        masks: dict[str, int] = {}
        for contact in self.contacts.values():
            if isinstance(contact.address, PinAddress):
                masks[contact.address.port] = masks.get(contact.address.port, 0) | 1 << contact.address.bit
        return {port: Port(contacts=mask) for port, mask in masks.items()}


def _contact(each: PointPlan, group: GroupBase) -> Contact | None:
    point, address = each.point, each.address
    if point.same_line_as is not None or address is None or isinstance(address, ConverterAddress):
        return None
    return Contact(address, closed_level(group), point.closed_at_rest)


def closed_level(group: GroupBase) -> int:
    """Return the logic level of a closed (keyed) contact's line.

    A contact to our ground with a pull-up reads low, one to our supply with a pull-down high; a keyed line that is
    listened to reads as the job says, or as its return was read.  Common practice, no source.  Raises `ValueError`
    when the job does not say.
    """
    if group.wanted.keyed_reads_high is not None:
        return int(group.wanted.keyed_reads_high)
    scanned = group.wiring.strobes
    if scanned is not None and scanned.keyed.value is not None and scanned.idle.value is not None:
        return int(scanned.keyed.value > scanned.idle.value)
    match group.wanted.sense:
        case Sense.PULL_UP:
            return 0
        case Sense.PULL_DOWN:
            return 1
        case _:
            raise ValueError(f"the proof cannot tell the level of a keyed line of {group.id} from the job")
