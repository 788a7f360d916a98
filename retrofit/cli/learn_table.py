"""What a lesson has brought, as it is shown, and the plan that would come of it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NoReturn

from retrofit.cli.output import Exit, Stop, counted, data, talk
from retrofit.cli.plans import planned
from retrofit.plan.as_built import addresses_to_record
from retrofit.plan.model import ConversionPlan
from retrofit.proving.learning.lesson import Lesson
from retrofit.proving.learning.table import Rewiring
from retrofit.survey.instrument import Progress


def refuse_unsettled(lesson: Lesson) -> NoReturn:
    """End the command for a lesson that was stopped before everything was settled."""
    result = lesson.result
    words = {key.point: key.words for key in lesson.keys}
    asked = [f"  press {words[key]}" for key in result.ask]
    raise Stop(
        Exit.PROBLEMS, f"{len(result.places)} of {len(lesson.keys)} are certain; nothing written; still to ask:", *asked
    )


def say_learned(lesson: Lesson, found: Rewiring, seen: bool) -> None:
    """Show what would change and what is unproven; end the command for wires that must not stay where they are."""
    result = lesson.result
    words = {key.point: key.words for key in lesson.keys}
    for key, places in result.together.items():
        talk(f"{words[key]} does not speak alone: {', '.join(sorted(places))}")
    for key, place in found.outside.items():
        talk(f"{words[key]} is wired to {place}, which is another group's; move its wire to an input of its own group")
    if found.outside or result.together:
        raise Stop(Exit.PROBLEMS, "nothing written: put these wires right, then learn again")
    for move in found.moves:
        data(f"{words.get(move.point, move.point)}: {move.recorded} -> {move.proposed}")
    for point in found.unproven:
        data(f"{words.get(point, point)}: not heard, takes {found.addresses[point]}, which is left over and unproven")
    if not seen and found.unproven:
        talk(
            "over MIDI an input that no point has is silent: a key that was not heard may be wired to one; see --board"
        )
    talk(f"{counted(len(result.places), 'place')} learned, {counted(len(lesson.asked), 'press')} asked for by name")
    direction = "" if lesson.asked else "the run went from the first key to the last, and "
    talk(f"taken for granted: {direction}no key was passed over and struck later as if in order; --back proves that")


def with_addresses(plan: ConversionPlan, group: str, addresses: Mapping[str, str]) -> ConversionPlan:
    """Return the plan of the job with a group's new addresses, its division being wired.

    Ends the command when that plan would not keep them, or has errors that the plan before had not.
    """
    job = plan.job
    division = next(one.division for one in job.groups if one.id == group)
    after = planned(
        job.model_copy(
            update={
                "addresses": addresses_to_record(plan.points) | dict(addresses),
                "divisions": tuple(
                    one.model_copy(update={"progress": Progress.WIRED}) if one.id == division else one
                    for one in job.divisions
                ),
            }
        )
    )
    before = {(finding.rule, finding.subject) for finding in plan.errors}
    errors = [finding for finding in after.errors if (finding.rule, finding.subject) not in before]
    if errors or any(str(p.address) != addresses[p.point.id] for p in after.points if p.point.id in addresses):
        said = (f"{finding.rule} {finding.subject}: {finding.message}" for finding in errors)
        raise Stop(Exit.PROBLEMS, *said, "nothing written: the plan does not go with these addresses")
    return after
