"""The register input or board pin behind a sense circuit: its levels, leakage, clamp and capacitance."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from retrofit.catalogue.parts import Board, Expander, Register
from retrofit.circuits.result import Span


@dataclass(frozen=True, slots=True)
class LogicInput:
    """An input that reads a level.  `vil` and `vih` give its limits, in volts, at a supply voltage.

    `leakage_a` is the greatest current into or out of it.  `clamp` is True when a diode leads from the input to its
    supply, so that an input above the supply feeds the supply; it stands where makers of the part differ.
    `capacitance_pf` is None where it is not known.  `schmitt` is True when slow edges are allowed.
    """

    name: str
    supply: Span
    vil: Callable[[float], float]
    vih: Callable[[float], float]
    leakage_a: float
    clamp: bool
    capacitance_pf: float | None
    schmitt: bool = False


def register_input(board: Board, register: Register) -> LogicInput:
    """Return an input of a register of the chain, at the board's supply and greatest ambient temperature."""
    supply, celsius = board.figures["supply"], board.figures["ambient"].greatest
    capacitance = register.figures.get("input_capacitance")
    return LogicInput(
        name=register.name,
        supply=Span(supply.least, supply.greatest),
        vil=lambda volts: register.vil_max.at(volts, celsius),
        vih=lambda volts: register.vih_min.at(volts, celsius),
        leakage_a=register.figures["input_current"].greatest,
        clamp=True,
        capacitance_pf=None if capacitance is None else capacitance.greatest * 1e12,
    )


def pin_input(board: Board) -> LogicInput:
    """Return a digital pin of the board, without its own pull-up."""
    figures = board.figures
    return LogicInput(
        name=f"pin of {board.name}",
        supply=Span(figures["supply"].least, figures["supply"].greatest),
        vil=lambda volts: figures["vil_fraction"].greatest * volts,
        vih=lambda volts: figures["vih_fraction"].least * volts,
        leakage_a=figures["leakage"].greatest,
        clamp=True,
        capacitance_pf=figures["pin_capacitance"].greatest * 1e12,
    )


def expander_input(board: Board, expander: Expander) -> LogicInput:
    """Return an input of a port expander at the board's supply, without its own weak pull-up."""
    supply, figures = board.figures["supply"], expander.figures
    return LogicInput(
        name=expander.name,
        supply=Span(supply.least, supply.greatest),
        vil=lambda volts: figures["vil_fraction"].greatest * volts,
        vih=lambda volts: figures["vih_fraction"].least * volts,
        leakage_a=figures["leakage"].greatest,
        clamp=True,
        capacitance_pf=None,
    )
