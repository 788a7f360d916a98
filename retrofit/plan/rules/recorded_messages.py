"""Rules about recorded messages: what somebody else's receiver was already set up for."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from retrofit.midi.kept import wired_divisions
from retrofit.midi.recorded import FORMS, unreadable_messages
from retrofit.plan.facts import Facts
from retrofit.plan.model import MessageChange, Severity
from retrofit.plan.rules.rule import Rule, Said


def _by_group(facts: Facts, *, wired: bool) -> Iterator[tuple[str, Sequence[MessageChange]]]:
    group_of = {plan.point.id: plan.point.group for plan in facts.points}
    changes = [change for change in facts.message_changes if change.wired is wired]
    for group, found in groupby(changes, key=lambda change: group_of[change.point]):
        yield group, tuple(found)


def _change_words(changes: Sequence[MessageChange]) -> str:
    first, *others = changes
    more = f", and {len(others)} more with it" if others else ""
    return f"{first.point} was recorded with {first.recorded} and this plan gives it {first.proposed}{more}"


def _would_change(facts: Facts) -> Iterator[Said]:
    for group, changes in _by_group(facts, wired=False):
        yield Said(
            f"groups.{group}",
            _change_words(changes),
            "a recorded message changes only when you say so",
            "accept with `retrofit record --accept-moves`, or mark its division as wired to keep what it sends",
        )


def _differs(facts: Facts) -> Iterator[Said]:
    for group, changes in _by_group(facts, wired=True):
        yield Said(
            f"groups.{group}",
            f"{_change_words(changes)}, because a wish in the job file says so",
            "what a wired point sends stays, unless it is wished otherwise",
            "take the wish out to keep what was recorded, or accept with `retrofit record --accept-moves` and set the "
            "receiver anew",
        )


def _wired_without(facts: Facts) -> Iterator[Said]:
    wired, recorded = wired_divisions(facts.job), facts.job.messages
    lost = [
        plan
        for plan in facts.points
        if plan.point.division in wired and (plan.message or plan.shoe) and plan.point.id not in recorded
    ]
    for group, plans in groupby(lost, key=lambda plan: plan.point.group):
        first, *others = plans
        more = f", nor of {len(others)} more with it" if others else ""
        yield Said(
            f"groups.{group}",
            f"nothing is recorded of what {first.point.id} sends, which is of a wired division{more}",
            "a recorded message for every point that is wired",
            "compare the message list with what the receiver was set up for, and keep it with `retrofit record`",
        )


def _unreadable(facts: Facts) -> Iterator[Said]:
    for point, text in unreadable_messages(facts.job).items():
        yield Said(
            f"messages.{point}",
            f"the recorded message {text!r} is none",
            f"{FORMS}, numbers 0 to 127 and channels 1 to 16",
            "correct it from the message list, or delete the line to have the point given a message afresh",
        )


RULES = (
    Rule(
        "message-unreadable",
        "A recorded message cannot be read",
        Severity.ERROR,
        "the text of recorded messages with the three forms of a message",
        _unreadable,
        locked=True,
        why=(
            "A recorded message says what a receiver was set up for; one that cannot be read would let the point "
            "send something else without a word."
        ),
        remedy="correct it from the message list, or delete it to have the point given a message afresh",
    ),
    Rule(
        "message-differs-from-recorded",
        "A wired point is wished to send something else than recorded",
        Severity.WARNING,
        "recorded messages of wired points with their wishes",
        _differs,
        why="The receiver was set up, and perhaps proven, with what was recorded, and hears a stranger from now on.",
        remedy="take the wish out, or agree to the change and set the receiver anew",
    ),
    Rule(
        "wired-point-without-message",
        "Nothing is recorded of what a wired point sends",
        Severity.WARNING,
        "points of wired divisions with the recorded messages",
        _wired_without,
        why="Such a point is given a message afresh whenever the job grows, and its receiver is not told.",
        remedy="compare the message list with what the receiver was set up for, and record it",
    ),
    Rule(
        "message-would-change",
        "A recorded message would change",
        Severity.WARNING,
        "recorded messages with those of this plan",
        _would_change,
        why="Whoever set up a receiver by an older message list would hear other stops from the same tabs.",
        remedy="agree to the change and set the receiver anew, or mark the division as wired to keep its messages",
    ),
)
