"""The gaps of an unfiltered rectifier: how long the line lies below a threshold, and the samples that bridge them."""

from __future__ import annotations

from math import asin, floor, inf, pi

from retrofit.circuits.sense.line import Ripple

MAINS_TOLERANCE = 0.01
"""How far the mains frequency strays from its nominal value: EN 50160, from memory."""


def gap_us(threshold_volts: float, peak_volts: float, mains_hz: float, *, full_wave: bool) -> float:
    """Return how long a rectified sine lies below a threshold between peaks: 2a/2πf or (π + 2a)/2πf, a = asin(Vth/Vpk).

    Infinite when the peaks do not reach the threshold.
    """
    if threshold_volts >= peak_volts:
        return inf
    angle = 2 * asin(max(0.0, threshold_volts) / peak_volts)
    return 1e6 * (angle if full_wave else pi + angle) / (2 * pi * mains_hz)


def ripple_gap_us(ripple: Ripple, threshold_volts: float) -> float:
    """Return the longest gap: the lowest peaks at the slowest mains."""
    slowest_hz = ripple.mains_hz * (1 - MAINS_TOLERANCE)
    return gap_us(threshold_volts, ripple.peak_volts.least, slowest_hz, full_wave=ripple.full_wave)


def low_samples_most(gap: float, sample_us: float) -> int:
    """Return the most samples in a row that one gap can spoil."""
    return floor(gap / sample_us) + 1


def release_samples(gap: float, sample_us: float) -> int:
    """Return the least number of agreeing samples that a release must wait for, so that no gap is taken for one."""
    return low_samples_most(gap, sample_us) + 1
