"""Points that a contact list would take out of the job: they are named, and nothing goes on until somebody agreed."""

from __future__ import annotations

from collections.abc import Iterator

from retrofit.cli.asking import agreed
from retrofit.cli.output import Exit, Stop, counted, talk
from retrofit.survey.contacts import ListedGroup, ListedPoint, ShoePoint, listed_identity


def agree_to_removals(before: ListedGroup, after: ListedGroup, accepted: bool) -> None:
    """Name what would go, then ask, unless `accepted` says so already; end the command when the answer is no.

    Where nobody can be asked (stdin is no terminal) the answer is no.
    """
    kept = {listed_identity(after, point) for point in after.points}
    going = {name: point for point in before.points if (name := listed_identity(before, point)) not in kept}
    if not going:
        return
    talk(f"{counted(len(going), 'point')} of {before.id} would go, for the list has no row that says anything of them:")
    for name, point in going.items():
        lost = ", ".join(_unlisted(point))
        talk(f"  {'.'.join(map(str, (before.id, *name)))}{f', and with it {lost}' if lost else ''}")
    if not (accepted or agreed("take them out?")):
        remedy = "put the rows back (a point whose id was changed is a new one), or agree with --accept-removals"
        raise Stop(Exit.PROBLEMS, f"nothing written; {remedy}")


def _unlisted(point: ListedPoint) -> Iterator[str]:
    """Yield what a point holds that no list has a column for, so that no row can bring it back."""
    if point.notes:
        yield counted(len(point.notes), "dated note")
    if isinstance(point, ShoePoint) and point.curve:
        yield f"its curve of {counted(len(point.curve), 'reading')}"
