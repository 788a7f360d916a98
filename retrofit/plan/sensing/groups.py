"""The sensing of every group of a job: its line, the circuits worked out and ranked, the choice, and the tap."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from retrofit.catalogue.load import Catalogue
from retrofit.catalogue.parts import Board
from retrofit.circuits.matrix_drive import driver_ohms
from retrofit.circuits.result import Span
from retrofit.circuits.sense.buffer import Converter
from retrofit.circuits.sense.design import SenseDesign
from retrofit.circuits.sense.line import Line
from retrofit.circuits.sense.logic_input import LogicInput, expander_input, pin_input, register_input
from retrofit.circuits.sense.matrix_network import Matrix
from retrofit.plan.front_ends import EXPANDER
from retrofit.plan.interfaces import interface_of
from retrofit.plan.listening import returns_design
from retrofit.plan.matrix_scan import MatrixScan, matrix_diode, matrix_scans
from retrofit.plan.scan_choice import REGISTER
from retrofit.plan.sensing.candidates import Candidate, Surroundings, candidates
from retrofit.plan.sensing.choose import choose, permitted_on_the_organs, ranked, reasons_against
from retrofit.plan.sensing.feels import felt_states
from retrofit.plan.sensing.line_classes import refused_by_class
from retrofit.plan.sensing.model import GroupSensing, TapQuestion
from retrofit.plan.sensing.supplies import METER_TOLERANCE, OrganSupplies
from retrofit.plan.sensing.tap import tap_questions
from retrofit.plan.to_line import classified, to_line
from retrofit.survey.contacts import Group, ShoeSensor
from retrofit.survey.job import Job
from retrofit.survey.points import Point
from retrofit.survey.wiring import DiodeFound, Owner
from retrofit.survey.wishes import Interface, Sense

PIN_INTERFACES = (Interface.PINS, Interface.MATRIX, Interface.MULTIPLEXER, Interface.LISTEN)
"""Interfaces that lead to a pin of the board; the little that a multiplexer adds is judged with the levels."""


@dataclass(frozen=True, slots=True)
class Workshop:
    """What every group shares: the board's inputs, the catalogue, our rail, the organ's supplies, work already done."""

    board: Board
    catalogue: Catalogue
    supplies: OrganSupplies
    rail_load_a: float
    fed_by_usb: bool
    on_chain: LogicInput
    on_pin: LogicInput
    on_expander: LogicInput
    matrices: Mapping[str, MatrixScan]
    done: dict[tuple[object, ...], tuple[Candidate, ...]] = field(default_factory=dict)

    def worked_out(self, line: Line, around: Surroundings) -> tuple[Candidate, ...]:
        """Return every circuit for a line; equal lines in equal surroundings are worked out once."""
        if around.matrix is not None or around.converter is not None or around.listened is not None:
            return candidates(line, around)
        contact = around.contact.id if around.contact else ""
        key = (line, around.behind.name, contact, around.rail_load_a, around.organ_supply_ohms)
        if key not in self.done:
            self.done[key] = candidates(line, around)
        return self.done[key]


def sense_groups(job: Job, points: Sequence[Point], board: Board, catalogue: Catalogue) -> tuple[GroupSensing, ...]:
    """Return how every group of contacts, and every shoe of the organ's on the converter, is sensed."""
    lines = Counter(point.group for point in points if _is_a_line(point))
    workshop = Workshop(
        board,
        catalogue,
        OrganSupplies.of(job),
        board.figures["own_current"].least,
        job.wanted.by_usb,
        register_input(board, catalogue.registers[REGISTER]),
        pin_input(board),
        expander_input(board, catalogue.expanders[EXPANDER]),
        matrix_scans(job, points, board, catalogue),
    )
    return tuple(_sensing(job, group, lines[group.id], workshop) for group in job.groups if _is_sensed(group))


def _is_sensed(group: Group) -> bool:
    return interface_of(group) is not None or group.wiring.owner is Owner.ORGAN


def _is_a_line(point: Point) -> bool:
    worked_out = point.shoe is not None and point.shoe.sensor is ShoeSensor.STEPS
    return not worked_out and point.same_line_as is None and point.takes_part


def _sensing(job: Job, group: Group, lines: int, workshop: Workshop) -> GroupSensing:
    line = _with_keyed_current(to_line(job, group, lines), group)
    if group.wiring.owner is Owner.UNKNOWN:
        return GroupSensing(group.id, line, None, None, (), ())
    found = workshop.worked_out(line, _surroundings(group, workshop))
    line_class, organs = classified(job, group), group.wiring.owner is Owner.ORGAN
    if organs:
        found = tuple(refused_by_class(permitted_on_the_organs(one), line_class) for one in found)
    permitted = ranked(found)
    chosen, wish_refused = choose(permitted, group.wanted.sense)
    return GroupSensing(
        group=group.id,
        line=line,
        line_class=None if line_class is None or line_class.named is None else line_class.named.value,
        chosen=chosen,
        ranked=tuple(candidate.design for candidate in permitted),
        refused=tuple(candidate.design for candidate in found if candidate.design.refusals),
        tap=_tap(group, line, chosen or _best(permitted)) if organs else (),
        feels=felt_states(line, chosen, fed_by_usb=workshop.fed_by_usb) if organs else (),
        wish_refused=wish_refused and (reasons_against(group.wanted.sense, found) or wish_refused),
    )


def _best(permitted: Sequence[Candidate]) -> SenseDesign | None:
    """Return the best circuit that reads the line itself."""
    return next((one.design for one in permitted if one.sense is not Sense.SENSOR and one.design.parts), None)


def _tap(group: Group, line: Line, circuit: SenseDesign | None) -> tuple[TapQuestion, ...]:
    """Return the questions about the tap of contacts; a shoe's tap has none."""
    return () if interface_of(group) is None else tap_questions(group.wiring, line, circuit)


def _with_keyed_current(line: Line, group: Group) -> Line:
    """Return the line with the least current of the organ's own load; one that was read goes before one worked out."""
    amps = group.wiring.keyed_current.value
    return line if amps is None or line.ours else replace(line, keyed_amps=amps * (1 - METER_TOLERANCE))


def _surroundings(group: Group, workshop: Workshop) -> Surroundings:
    interface = interface_of(group)
    return Surroundings(
        behind=_behind(interface, workshop),
        contact=workshop.catalogue.contacts.get(group.wiring.contact),
        matrix=_matrix(group, workshop) if group.id in workshop.matrices else None,
        listened=_listened(group, workshop) if interface is Interface.LISTEN else None,
        converter=_converter(workshop.board) if interface is None else None,
        rail_load_a=workshop.rail_load_a,
        organ_supply_ohms=workshop.supplies.ohms_behind(group),
    )


def _converter(board: Board) -> Converter:
    """Return the board's converter, whose reference is its supply; its noise is not known before it is fitted."""
    supply = board.figures["supply"]
    bits = round(board.figures["converter_bits"].usual)
    return Converter(bits, Span(supply.least, supply.greatest), noise_counts=None)


def _behind(interface: Interface | None, workshop: Workshop) -> LogicInput:
    if interface in PIN_INTERFACES:
        return workshop.on_pin
    return workshop.on_expander if interface is Interface.EXPANDER else workshop.on_chain


def _matrix(group: Group, workshop: Workshop) -> Matrix:
    wiring, board, scan = group.wiring, workshop.board, workshop.matrices[group.id]
    known = wiring.diodes not in (DiodeFound.UNKNOWN, DiodeFound.NONE)
    contact = wiring.contact_resistance.value
    return Matrix(
        diode=matrix_diode(group, workshop.catalogue) if known else None,
        cable=workshop.catalogue.cables["unknown"],
        columns=group.wanted.matrix_columns,
        row_ohms=driver_ohms(board),
        series_ohms=None if contact is None else Span.exact(contact),
        cable_m=wiring.cable_length.value,
        wait_us=scan.wait_us,
        row_guard=scan.row_guard,
        precharge=scan.precharge,
    )


def _listened(group: Group, workshop: Workshop) -> Callable[[Line], SenseDesign]:
    return lambda line: returns_design(group, line, workshop.board, workshop.catalogue)


def chosen_levels(sensing: Sequence[GroupSensing]) -> Mapping[str, bool]:
    """Return, by group, whether a keyed line reads high behind the chosen circuit, where that is settled."""
    return {
        sensed.group: sensed.chosen.keyed_reads_high
        for sensed in sensing
        if sensed.chosen is not None and sensed.chosen.keyed_reads_high is not None
    }
