"""Whether a measured bounce may stand in the job file as that of its group, and putting it there."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from retrofit.cli.asking import agreed
from retrofit.cli.board_bounce_lines import late_words, most_late, ms
from retrofit.cli.output import Exit, Stop, counted, data
from retrofit.cli.reading import saved
from retrofit.firmware.link.bounce_run import Bounce
from retrofit.survey.contacts import GroupBase
from retrofit.survey.save import edit_job, set_value

_NAMED = 8
"""Contacts that are named before the others are only counted."""


def refuse_unfit(found: Sequence[Bounce], contacts: Mapping[int, str], strokes: int) -> None:
    """End the command unless every contact had its strokes, and every sample came in time."""
    had = {one.contact: one.strokes for one in found}
    short = [f"{point} ({had.get(number, 0)})" for number, point in contacts.items() if had.get(number, 0) < strokes]
    if short:
        more = f" and {len(short) - _NAMED} more" if len(short) > _NAMED else ""
        raise Stop(
            Exit.PROBLEMS,
            f"{len(short)} of {counted(len(contacts), 'contact')} had fewer than {counted(strokes, 'stroke')}: "
            f"{', '.join(short[:_NAMED])}{more}",
            "nothing is written: the bounce of a group is that of all its contacts; play them all, or ask for fewer "
            "with --strokes",
        )
    if most_late(found):
        raise Stop(
            Exit.PROBLEMS,
            f"{late_words(found)}, so that a bounce may be measured too short; nothing is written",
            "measure again while nothing else is asked of the board; retrofit board PORT pace says how late it runs",
        )


def write_bounce(file: Path, group: GroupBase, found: Sequence[Bounce], replace: bool) -> None:
    """Write the worst bounce and the fewest strokes of any contact; a safer reading stays unless somebody agrees."""
    worst_us = max(one.longest_us for one in found)
    fewest = min(one.strokes for one in found)
    words = f"{ms(worst_us)}, the worst of {counted(fewest, 'stroke')} of each contact"
    before = _safer_words(group, worst_us, fewest)
    if before and not (replace or agreed(f"the file has {before}; put {words} in its place?")):
        raise Stop(
            Exit.PROBLEMS,
            f"{file}: {group.id}.wiring.bounce: the file has {before}; measured was {words}; nothing is written",
            "--replace puts the new one in its place",
        )

    def edit(document: Any) -> None:
        set_value(document, ("groups", group.id, "wiring", "bounce"), ms(worst_us))
        set_value(document, ("groups", group.id, "wiring", "bounce_strokes"), fewest)

    saved(lambda: edit_job(file, edit))
    data(f"{file}: the bounce of {group.id} is {words}{f', in place of {before}' if before else ''}")


def _safer_words(group: GroupBase, worst_us: int, fewest: int) -> str:
    """Return what the file has when it is longer, or of more strokes, than what was measured; else nothing."""
    before, strokes = group.wiring.bounce, group.wiring.bounce_strokes
    if before.value is None:
        return ""
    longer = float(before.value) * 1e6 > worst_us
    of_more = strokes is not None and strokes > fewest
    return f"{before.raw}{f' of {strokes} strokes' if strokes else ''}" if longer or of_more else ""
