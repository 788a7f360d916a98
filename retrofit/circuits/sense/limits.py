"""Acceptance limits of a sense circuit, each by its name; all of them common practice, no source.

Shares are fractions of one.  Limits that the chain, the pull-up contact and the matrix already keep come from there.
"""

from __future__ import annotations

from retrofit.circuits.chain_timing import LEAST_SLACK_SHARE
from retrofit.circuits.pullup import (
    CONTACT_OHMS_NEW,
    CONTACT_OHMS_OLD,
    HIGH_MARGIN_SHARE,
    LOW_MARGIN_SHARE,
    WETTING_AMPS,
    WETTING_VOLTS,
)
from retrofit.circuits.settle import LEAST_WAIT_US, WAIT_FACTOR

__all__ = [
    "BACK_FEED_AMPS",
    "BACK_FEED_CURRENT_SHARE",
    "BACK_FEED_SHIFT_SHARE",
    "CLAMP_AMPS",
    "CONTACT_OHMS_NEW",
    "CONTACT_OHMS_OLD",
    "DISSIPATION_SHARE",
    "FUSE_SHARE",
    "HIGH_MARGIN_SHARE",
    "KEY_LATENCY_GOOD_US",
    "KEY_LATENCY_US",
    "KICK_FACTOR",
    "LEAST_SLACK_SHARE",
    "LEAST_WAIT_US",
    "LOADING_GOOD_SHARE",
    "LOADING_SHARE",
    "LOW_MARGIN_GOOD_SHARE",
    "LOW_MARGIN_SHARE",
    "OFF_STATE_FACTOR",
    "ORGAN_SUPPLY_CHANGE_SHARE",
    "OVERDRIVE_FACTOR",
    "RAIL_SHARE",
    "RETURN_DROP_SHARE",
    "SCAN_PERIOD_GOOD_US",
    "SCAN_PERIOD_NARROW_US",
    "SCAN_PERIOD_US",
    "WAIT_FACTOR",
    "WETTING_AMPS",
    "WETTING_VOLTS",
]

LOW_MARGIN_GOOD_SHARE = 0.10
"""Share of the supply from which a low level is more than narrow."""
OVERDRIVE_FACTOR = 2.0
"""An optocoupler at the end of its life must carry this many times the current that pulls its output low."""
OFF_STATE_FACTOR = 2.0
"""The idle current of an optocoupler must stay below the allowance divided by this."""
LOADING_SHARE = 0.05
"""Most that we may take of a line's keyed current, of its decay, or shift of its volts."""
LOADING_GOOD_SHARE = 0.02
"""What a load on the organ's line should stay below."""
DISSIPATION_SHARE = 0.5
"""Most of a resistor's rated power that it may turn into heat."""
KICK_FACTOR = 1.5
"""A part across an inductive load is rated for this many times the greatest kick."""
CLAMP_AMPS = 1e-3
"""Most that may flow through the clamp of one input for long."""
SCAN_PERIOD_GOOD_US, SCAN_PERIOD_NARROW_US, SCAN_PERIOD_US = 1_000, 2_000, 5_000
"""A full scan: aimed at, narrow, and the most."""
RAIL_SHARE = 0.70
"""Most that may be drawn of a supply's rating."""
FUSE_SHARE = 0.75
"""Most that may flow through a fuse, as a share of its rating."""
RETURN_DROP_SHARE = 0.02
"""Most volts dropped in a return that the sensed lines share, as a share of the logic supply."""
ORGAN_SUPPLY_CHANGE_SHARE = 0.01
"""Most that the organ's own supply may change with every sense input on."""
BACK_FEED_AMPS = 0.1e-3
BACK_FEED_CURRENT_SHARE = 0.05
BACK_FEED_SHIFT_SHARE = 0.05
"""What may flow with our supply off: least of a current, a share of the keyed current, and what so shifts the line."""
KEY_LATENCY_GOOD_US, KEY_LATENCY_US = 5_000, 10_000
"""From the key's contact to the end of its message: good, and the most."""
