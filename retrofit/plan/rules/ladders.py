"""Rules about stepped shoes that one converter channel reads through resistors."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from retrofit.catalogue.parts import Board
from retrofit.circuits.converter_reading import noise_counts
from retrofit.circuits.ladder import READ_COUNTS
from retrofit.circuits.ladder_stages import LadderStage, best_to_supply, ladder_stages, stage_gaps
from retrofit.plan.facts import Facts
from retrofit.plan.model import Severity
from retrofit.plan.rules.rule import Rule, Said
from retrofit.survey.contacts import ShoePoint
from retrofit.survey.ladder import Ladder


@dataclass(frozen=True, slots=True)
class _Read:
    """A ladder with what it reads on the board."""

    subject: str
    shoe: ShoePoint
    ladder: Ladder
    stages: tuple[LadderStage, ...]
    board: Board

    @property
    def bits(self) -> int:
        """Bits of the board's converter."""
        return round(self.board.figures["converter_bits"].usual)


def _ladders(facts: Facts) -> Iterator[_Read]:
    for plan in facts.points:
        shoe = plan.point.shoe
        if facts.board is not None and shoe is not None and shoe.ladder is not None and plan.point.takes_part:
            contact_ohms = facts.group(plan.point.group).wiring.contact_resistance.value or 0.0
            stages = ladder_stages(shoe.ladder, shoe.style, contact_ohms)
            yield _Read(plan.point.id, shoe, shoe.ladder, stages, facts.board)


def _unknown(facts: Facts) -> Iterator[Said]:
    for read in _ladders(facts):
        if not read.stages:
            yield Said(
                read.subject,
                "what its contacts read can be worked out neither from readings nor from resistors",
                "a reading for each contact, or every resistor, the one to our supply and their tolerance",
                f"measure each position once the board is fitted{_proposal(read)}",
            )


def _proposal(read: _Read) -> str:
    best = best_to_supply(read.ladder, read.shoe.style, read.bits)
    if best is None:
        return ""
    return f"; {best[0]:g} Ω to the supply parts these stages best, {best[1]:.1f} counts at the least"


def _overlap(facts: Facts) -> Iterator[Said]:
    for read in _ladders(facts):
        noise = noise_counts(read.shoe, read.bits, read.board.figures["supply"].least) or 0.0
        for gap in stage_gaps(read.stages, read.bits, noise):
            if not gap.told_apart:
                yield Said(
                    read.subject,
                    f"{gap.lower.name} reads up to {gap.lower.high:.4f} of full scale and {gap.upper.name} from "
                    f"{gap.upper.low:.4f}, {gap.counts:.1f} counts apart with {noise:.3g} counts of noise",
                    f"{READ_COUNTS} counts of the {read.bits}-bit converter at the worst corner",
                    "use resistors of 1 % or better, or measure the reading of each contact, or read each as a contact"
                    + _proposal(read),
                )


def _weak(facts: Facts) -> Iterator[Said]:
    for read in _ladders(facts):
        top, most = read.ladder.to_supply.value, read.board.figures["converter_source"].greatest
        if top is None or not read.stages:
            continue
        source = max(top * stage.usual for stage in read.stages)
        if source > most:
            yield Said(
                read.subject,
                f"the converter sees up to {source:.0f} Ω",
                f"{most:.0f} Ω, or its capacitor does not charge in time",
                "take a smaller resistor to the supply, or put 100 nF from the pin to our return",
            )


RULES = (
    Rule(
        "ladder-not-read",
        "What a ladder's contacts read is not known",
        Severity.ERROR,
        "readings and resistors of a stepped shoe on one channel",
        _unknown,
        why="Stages are told apart by their readings alone; without them every step is a guess.",
        remedy="measure the reading of each position, or write down every resistor and its tolerance",
    ),
    Rule(
        "ladder-stages-overlap",
        "Two stages of a ladder cannot be told apart",
        Severity.ERROR,
        "worst readings of neighbouring stages with four counts of the converter",
        _overlap,
        why="Where two stages may read alike, the shoe jumps between them with temperature and with every repair.",
        remedy="use closer resistors, calibrate each stage by its reading, or read each stage as a contact",
    ),
    Rule(
        "ladder-source-too-weak",
        "A ladder is too weak for the converter",
        Severity.WARNING,
        "source resistance of the ladder with the converter's limit",
        _weak,
        why="The converter's own capacitor must charge through the ladder within a fraction of a conversion.",
        remedy="take a smaller resistor to the supply, or put a capacitor at the pin",
    ),
)
