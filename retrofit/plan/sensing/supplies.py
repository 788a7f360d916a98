"""The organ's supplies as read: source resistance fitted, and what is known of their current and fuse."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from retrofit.circuits.result import Span
from retrofit.circuits.supplies import OrganSupply
from retrofit.circuits.supply_fit import SupplyFit, SupplyReading, SupplyReadingsError, fit_supply
from retrofit.survey.bench import Reading
from retrofit.survey.contacts import GroupBase
from retrofit.survey.instrument import Supply
from retrofit.survey.job import Job

METER_TOLERANCE = 0.01
"""Of a digital meter, volts or amperes; common practice, no source."""


@dataclass(frozen=True, slots=True)
class OrganSupplies:
    """The supplies of a job by id; one whose volts were not read is None."""

    by_id: Mapping[str, OrganSupply | None]

    @classmethod
    def of(cls, job: Job) -> OrganSupplies:
        """Return the supplies of a job."""
        return cls({supply.id: organ_supply(supply) for supply in job.supplies})

    def behind(self, group: GroupBase) -> dict[str, OrganSupply | None]:
        """Return the supplies that feed the commons of a group; empty when nobody has said which."""
        ids = (common.supply for common in group.wiring.commons if common.supply is not None)
        return {supply: self.by_id.get(supply) for supply in ids}

    def ohms_behind(self, group: GroupBase) -> float | None:
        """Return the greatest source resistance of a group's supplies; None while that of one is unknown."""
        found = [supply.fit if supply else None for supply in self.behind(group).values()]
        known = [fit.ohms.greatest for fit in found if fit is not None]
        return max(known) if known and len(known) == len(found) else None


def organ_supply(supply: Supply) -> OrganSupply | None:
    """Return a supply with what its readings allow to be said; None without its volts with everything on."""
    full = supply.volts_full.value
    if full is None or full == 0:
        return None
    return OrganSupply(
        full_volts=abs(full) * (1 - METER_TOLERANCE),
        full_amps=_greatest(supply.amps_full),
        fit=_fit(supply),
        fuse_amps=supply.fuse.value,
    )


def _fit(supply: Supply) -> SupplyFit | None:
    pairs = (
        (supply.volts_rest, supply.amps_rest),
        (supply.volts_typical, supply.amps_typical),
        (supply.volts_full, supply.amps_full),
    )
    readings = [SupplyReading(volts, amps) for pair in pairs if (volts := _span(pair[0])) and (amps := _span(pair[1]))]
    try:
        return fit_supply(readings)
    except SupplyReadingsError:
        return None


def _span(reading: Reading) -> Span | None:
    return None if reading.value is None else Span.around(abs(reading.value), METER_TOLERANCE)


def _greatest(reading: Reading) -> float | None:
    span = _span(reading)
    return None if span is None else span.greatest
