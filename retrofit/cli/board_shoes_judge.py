"""Whether measured ends of shoes may stand in the job file: no dead wire is taken for an end of the travel."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from retrofit.cli.output import Exit, Stop, counted
from retrofit.firmware.link.shoe_ends import RAIL_SHARE, SPAN_SHARE, ShoeEnd
from retrofit.plan.model import ConversionPlan

Ends = Mapping[str, float | None]
"""Readings by the name of the end."""


def refuse_unfit(found: Sequence[ShoeEnd], plan: ConversionPlan, faults: int) -> None:
    """End the command, saying the figures, unless everything that was found can be an end of a shoe's travel.

    An end that was not measured now is the one that the job has.  `faults` is how often the board found a shoe outside
    the ends that it knows while it looked.
    """
    if not found:
        raise Stop(Exit.PROBLEMS, "the board has no shoe on a converter; there is nothing to measure")
    objections = [*_moving(found), *_at_rail(found), *_too_near(found, plan), *_outside(faults)]
    if objections:
        raise Stop(Exit.PROBLEMS, *objections, "nothing is written")


def _moving(found: Sequence[ShoeEnd]) -> Iterator[str]:
    moving = [_figures(one) for one in found if not one.steady]
    if moving:
        yield f"not steady while it was looked at: {', '.join(moving)}; hold the shoe still and measure again"
        yield "if it stays so, look at its lead and clean its track"


def _at_rail(found: Sequence[ShoeEnd]) -> Iterator[str]:
    for one in found:
        if one.at_rail:
            yield (
                f"{_figures(one)}: that is within {RAIL_SHARE:.1%} of a rail, where a dead or shorted wire reads, too; "
                "look at its three wires, and where its track does reach the rail put a resistor at that end"
            )


def _too_near(found: Sequence[ShoeEnd], plan: ConversionPlan) -> Iterator[str]:
    for point in dict.fromkeys(one.point for one in found):
        ends = {**_known_ends(plan, point), **{one.end: one.reading for one in found if one.point == point}}
        closed, opened = ends.get("closed"), ends.get("open")
        if closed is not None and opened is not None and abs(closed - opened) < SPAN_SHARE:
            yield (
                f"{point}: closed at {closed:g} and open at {opened:g} of full scale are {abs(closed - opened):.1%} "
                f"apart, and {SPAN_SHARE:.1%} are needed; move the shoe to its other end, look at its wires, and where "
                "the file has an old end measure both in one run on a terminal"
            )


def _known_ends(plan: ConversionPlan, point: str) -> Ends:
    shoe = next((one.point.shoe for one in plan.points if one.point.id == point), None)
    return {} if shoe is None else {"closed": shoe.closed_reading, "open": shoe.open_reading}


def _outside(faults: int) -> Iterator[str]:
    if faults > 0:
        yield (
            f"the board found a shoe outside the ends that it knows {counted(faults, 'time')} while it looked: a wire "
            "that breaks now and then does that; look at the leads and measure again"
        )


def _figures(one: ShoeEnd) -> str:
    return f"{one.point}, {one.end}: {one.lowest} to {one.highest} counts"
