"""What the room Putback shows of the make-safe record."""

from __future__ import annotations

from retrofit.papers.identity import CAUTIONS
from retrofit.plan.gate import papers_allowed
from retrofit.plan.model import ConversionPlan
from retrofit.survey.make_safe import MakeSafe, SafeStep, Tick
from tui.desk.putback import OPEN, TAKEN, Row

WORDS = {
    SafeStep.MAINS_UNPLUGGED: "every mains plug is pulled, not only switched off",
    SafeStep.OTHER_FEEDS_FOUND: "other feeds are found: blower, amplifier, lamps, tremulant",
    SafeStep.PROVED_DEAD: "proved dead with a meter that was itself tried before and after",
    SafeStep.CAPACITORS_DISCHARGED: "capacitors are discharged and measured",
    SafeStep.FUSES_AS_FOUND: "every fuse is as found, its value written down",
    SafeStep.CONSOLE_STEADY: "the console cannot tip with pedalboard and bench out",
    SafeStep.LICENSED_PERSON_ASKED: "a licensed person was asked about the mains side",
}
"""Each step as a sentence to be signed (common practice, no source)."""


def safe_rows(record: MakeSafe) -> tuple[Row, ...]:
    """Return a row for each step in the order in which they are taken."""
    ticks = {tick.step: tick for tick in record.ticks}
    return tuple((step.value, (_state(ticks.get(step)), words)) for step, words in WORDS.items())


def _state(tick: Tick | None) -> str:
    return OPEN if tick is None else f"{TAKEN} {tick.date.isoformat()} {tick.initials}"


def safe_text(plan: ConversionPlan) -> tuple[str, ...]:
    """Return what else the record says, which papers wait for it and why, and the cautions."""
    record = plan.job.make_safe
    allowed, reasons = papers_allowed(plan)
    return (
        f"chassis to earth: {record.chassis_to_earth.value}, read {record.earth_reading.raw} Ω",
        f"supplies: {record.supply_kind.value}",
        *(f"remark: {tick.step.value}: {tick.remark}" for tick in record.ticks if tick.remark),
        "",
        *(
            ("The papers that lead into the instrument may be written.",)
            if allowed
            else ("Papers that lead into the instrument are withheld:", *reasons)
        ),
        "",
        "Sign only what you have seen yourself.",
        *(f"- {words}" for words in CAUTIONS),
    )
