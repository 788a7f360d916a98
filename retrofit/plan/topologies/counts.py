"""What each way of reading takes: devices, lines, joints, diodes and pins.

Joints are counted so, common practice, no source: two for each wire, one for each lead of a chip or of a resistor
network of eight (nine leads), two for each capacitor and diode.  Each chip has a capacitor of its own.
"""

from __future__ import annotations

from dataclasses import replace
from math import ceil, log2

from retrofit.plan.topologies.demand import Bench, Demand
from retrofit.plan.topologies.kinds import EXPANDERS, MATRICES, MULTIPLEXERS, WAYS, Kind
from retrofit.plan.topologies.model import Counts
from retrofit.scan.matrix_places import COLUMNS
from retrofit.survey.wiring import DiodeFound

NETWORK = 8
NETWORK_LEADS = NETWORK + 1
SELECTED_TOGETHER = 8
"""Serial expanders that share a select line, told apart by their three address pins (Microchip DS20001952C)."""
_CHAIN_WIRES, _TWO_WIRE_WIRES, _SERIAL_WIRES = 5, 4, 5
"""From the board to the first chip: its signals, supply and return; a serial bus has a select line beside."""
_SUPPLY_WIRES = 2
CHAIN_PINS, BUS_PINS, SERIAL_PINS = 3, 2, 3

PROVEN = (DiodeFound.SILICON, DiodeFound.SCHOTTKY, DiodeFound.GERMANIUM)
"""Diodes that were found at the contacts."""


def count(kind: Kind, demand: Demand, bench: Bench) -> Counts:
    """Return what this way of reading takes for a group alone on a board."""
    if kind in MATRICES:
        return _matrix(demand)
    if kind is Kind.PINS:
        return _straight(demand, demand.places, devices=0, leads=0, wires=0, pins=demand.places)
    if kind is Kind.CHAIN:
        devices = ceil(demand.places / 8)
        leads = bench.packages[bench.register.id]
        return _straight(demand, 8 * devices, devices, leads, _CHAIN_WIRES, CHAIN_PINS)
    if kind in MULTIPLEXERS:
        return _multiplexers(kind, demand, bench)
    return _expanders(kind, demand, bench)


def returns(demand: Demand) -> int:
    """Return how many returns a group has: one for each common that was found, at least one."""
    return max(1, len(demand.group.wiring.commons))


def _straight(demand: Demand, places: int, devices: int, leads: int, wires: int, pins: int) -> Counts:
    """Return the counts where every contact has a line and a pull-up of its own."""
    lines, networks = demand.places + returns(demand), ceil(demand.places / NETWORK)
    joints = 2 * (lines + wires + devices) + devices * leads + networks * NETWORK_LEADS
    return Counts(
        places=places,
        taken=demand.places,
        devices=devices,
        networks=networks,
        capacitors=devices,
        lines=lines,
        joints=joints,
        pins=pins,
        lanes=ceil(places / 8),
    )


def _matrix(demand: Demand) -> Counts:
    """Return the counts of a matrix: with the diodes that are there, only its rows and columns are wired."""
    columns = demand.group.wanted.matrix_columns
    rows = ceil(demand.places / columns)
    diodes = 0 if demand.group.wiring.diodes in PROVEN else demand.places
    lines = rows + columns
    return Counts(
        places=rows * columns,
        taken=demand.places,
        networks=ceil(columns / NETWORK),
        diodes=diodes,
        lines=lines,
        joints=2 * (lines + diodes) + NETWORK_LEADS * ceil(columns / NETWORK),
        pins=rows + COLUMNS,
        lanes=rows,
    )


def _multiplexers(kind: Kind, demand: Demand, bench: Bench) -> Counts:
    """Return the counts of multiplexers side by side: one pull-up at each common, select lines shared."""
    ways = WAYS[kind]
    devices = ceil(demand.places / ways)
    selects, networks = round(log2(ways)), ceil(devices / NETWORK)
    lines = demand.places + returns(demand)
    wires = devices + selects + _SUPPLY_WIRES
    leads = devices * bench.packages[MULTIPLEXERS[kind]] + networks * NETWORK_LEADS
    return Counts(
        places=devices * ways,
        taken=demand.places,
        devices=devices,
        networks=networks,
        capacitors=devices,
        lines=lines,
        joints=2 * (lines + wires + devices) + leads,
        pins=devices + selects,
        lanes=ways * ceil(devices / 8),
    )


def _expanders(kind: Kind, demand: Demand, bench: Bench) -> Counts:
    inputs = round(bench.expander(kind).figures["inputs"].usual)
    devices = ceil(demand.places / inputs)
    pins = BUS_PINS if kind is Kind.TWO_WIRE else SERIAL_PINS + ceil(devices / SELECTED_TOGETHER)
    wires = _TWO_WIRE_WIRES if kind is Kind.TWO_WIRE else _SERIAL_WIRES + ceil(devices / SELECTED_TOGETHER)
    counts = _straight(demand, devices * inputs, devices, bench.packages[EXPANDERS[kind]], wires, pins)
    return replace(counts, lanes=2 * devices)
