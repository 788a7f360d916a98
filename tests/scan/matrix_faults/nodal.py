"""A diode matrix solved from Kirchhoff's current law: every row and column is a node, every diode Shockley's equation.

It shares nothing with what it checks.  Newton's method on many networks at once; the sum of currents into each node is
returned with the voltages, so that a solution can be seen to be one.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
THERMAL_VOLTS = 0.02585
"""k·T/q at 300 K."""


@dataclass(frozen=True, slots=True)
class Kind:
    """A diode by the drop at a current: the saturation current follows from both and the ideality."""

    volts: float
    amps: float
    ideality: float

    @property
    def saturation_amps(self) -> float:
        """The current that makes the drop at the current."""
        return self.amps / (exp(self.volts / (self.ideality * THERMAL_VOLTS)) - 1)


@dataclass(frozen=True, slots=True)
class Console:
    """What surrounds the diodes: supply, pull-up of each column, resistance of the row's driver, closed contact.

    Rows that are not read are adrift, or driven to the supply through `high_ohms`.
    """

    supply: float
    pull_up_ohms: float
    row_ohms: float
    contact_ohms: float = 1.0
    adrift_ohms: float = 1e9
    high_ohms: float | None = None


def solve(console: Console, kind: Kind, held: Array, reversed_: Array, shorted: Array, driven: Array) -> Array:
    """Return the column voltages of networks 0..N-1.

    `held`, `reversed_` and `shorted` are N x R x C, 1 where a key is held whose diode is healthy, reversed, shorted;
    `driven` is N x R, 1 for the row that is pulled low.  Raises `ArithmeticError` when currents do not balance.
    """
    networks, rows, columns = held.shape
    volts = np.full((networks, columns + rows), console.supply / 2)
    to_ground = np.where(driven > 0, 1 / console.row_ohms, 1 / console.adrift_ohms)
    to_supply = np.where(driven > 0, 0.0, 0.0 if console.high_ohms is None else 1 / console.high_ohms)
    for _ in range(400):
        into, slope = _balance(console, kind, (held, reversed_, shorted), (to_ground, to_supply), volts)
        step = np.linalg.solve(slope, -into[..., None])[..., 0]
        volts = volts + np.clip(step, -0.1, 0.1)
        if np.abs(step).max() < 1e-9:
            break
    into, _ = _balance(console, kind, (held, reversed_, shorted), (to_ground, to_supply), volts)
    if np.abs(into).max() > 1e-9:
        raise ArithmeticError(f"currents do not balance by {np.abs(into).max():g} A")
    found: Array = volts[:, :columns]
    return found


def _balance(
    console: Console, kind: Kind, crossings: tuple[Array, Array, Array], drivers: tuple[Array, Array], volts: Array
) -> tuple[Array, Array]:
    """Return the current out of each node and its slope against every node's voltage."""
    held, reversed_, shorted = crossings
    to_ground, to_supply = drivers
    columns = held.shape[2]
    across = volts[:, None, :columns] - volts[:, columns:, None]
    forward, forward_slope = _shockley(kind, across)
    backward, backward_slope = _shockley(kind, -across)
    current = held * forward - reversed_ * backward + shorted * across / console.contact_ohms
    slope = held * forward_slope + reversed_ * backward_slope + shorted / console.contact_ohms
    pull_up = 1 / console.pull_up_ohms
    out = np.concatenate(
        (
            (volts[:, :columns] - console.supply) * pull_up + current.sum(axis=1),
            volts[:, columns:] * to_ground + (volts[:, columns:] - console.supply) * to_supply - current.sum(axis=2),
        ),
        axis=1,
    )
    jacobian = np.zeros((*volts.shape, volts.shape[1]))
    at_column, at_row = np.arange(columns), np.arange(columns, volts.shape[1])
    jacobian[:, at_column, at_column] = pull_up + slope.sum(axis=1)
    jacobian[:, at_row, at_row] = to_ground + to_supply + slope.sum(axis=2)
    jacobian[:, columns:, :columns] = -slope
    jacobian[:, :columns, columns:] = -slope.transpose(0, 2, 1)
    return out, jacobian


def _shockley(kind: Kind, across: Array) -> tuple[Array, Array]:
    """Return current and slope of a diode; past 50 mA the curve goes on straight, which no solution reaches."""
    scale = kind.ideality * THERMAL_VOLTS
    knee = scale * np.log(50e-3 / kind.saturation_amps)
    bent = kind.saturation_amps * np.exp(np.minimum(across, knee) / scale)
    slope = bent / scale + 1e-12
    current = bent - kind.saturation_amps + np.maximum(across - knee, 0) * slope + 1e-12 * across
    return current, slope
