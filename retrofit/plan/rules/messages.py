"""Rules about what points send."""

from __future__ import annotations

from collections.abc import Iterator

from retrofit.midi.assignment import NoteCode
from retrofit.midi.clashes import Clash, find_clashes
from retrofit.midi.controllers import CONTROLLERS, EXPRESSION, Standing
from retrofit.midi.messages import PointMessage
from retrofit.midi.uses import Use, uses_of_message, uses_of_shoe
from retrofit.plan.facts import Facts
from retrofit.plan.model import PointPlan, Severity
from retrofit.plan.rules.rule import Rule, Said
from retrofit.survey.wishes import MessageKind

PERCUSSION_CHANNEL = 10
"""General MIDI System Level 1: channel 10 plays percussion."""


def _sent_twice(facts: Facts) -> Iterator[Said]:
    messages = {plan.point.id: plan.message for plan in facts.points if plan.message}
    shoes = {plan.point.id: plan.shoe for plan in facts.points if plan.shoe}
    for clash in find_clashes(messages, shoes):
        yield Said(
            clash.users[0],
            f"{_words(clash)} is sent by {len(clash.users)} points: {', '.join(clash.users)}",
            "one point for each message, or the receiver cannot tell them apart",
            "give one of them another number or channel; when they are one electrical line, say so in same_lines",
        )


def _words(clash: Clash) -> str:
    return f"{clash.use.kind.value} {clash.use.number} on channel {clash.use.channel}"


def _controllers(facts: Facts) -> Iterator[tuple[PointPlan, int, int]]:
    for plan in facts.points:
        if plan.message:
            yield from ((plan, use.channel, use.number) for use in _controller_uses(plan.message))
        if plan.shoe:
            yield from ((plan, use.channel, use.number) for use in uses_of_shoe(plan.shoe))


def _controller_uses(message: PointMessage) -> Iterator[Use]:
    return (use for use in sorted(uses_of_message(message)) if use.kind is MessageKind.CONTROLLER)


def _mode_message(facts: Facts) -> Iterator[Said]:
    for plan, channel, number in _controllers(facts):
        if CONTROLLERS[number].standing is Standing.CHANNEL_MODE:
            yield Said(
                plan.point.id,
                f"controller {number} on channel {channel} is the channel mode message {CONTROLLERS[number].name!r}",
                "controllers 0 to 119",
                "choose another number",
            )


def _reserved(facts: Facts) -> Iterator[Said]:
    for plan, channel, number in _controllers(facts):
        meant_so = plan.shoe is not None and number in (EXPRESSION, 7)
        if CONTROLLERS[number].standing is Standing.RESERVED and not meant_so:
            yield Said(
                plan.point.id,
                f"controller {number} on channel {channel} means {CONTROLLERS[number].name!r} to every receiver",
                "a number without such a meaning",
                "choose another number, unless that meaning is what you want",
            )


def _out_of_range(facts: Facts) -> Iterator[Said]:
    yield from _assignment_notes(facts, {NoteCode.OUT_OF_RANGE, NoteCode.CHANNELS_RUN_OUT, NoteCode.NUMBERS_RUN_OUT})


def _wish_unused(facts: Facts) -> Iterator[Said]:
    yield from _assignment_notes(facts, {NoteCode.WISH_UNUSED})


def _continued(facts: Facts) -> Iterator[Said]:
    yield from _assignment_notes(facts, {NoteCode.CONTINUED_ON_CHANNEL})


def _assignment_notes(facts: Facts, codes: set[NoteCode]) -> Iterator[Said]:
    for note in facts.assignment.notes:
        if note.code in codes:
            yield Said(note.subject, note.found, note.allowed, note.remedy)


def _percussion(facts: Facts) -> Iterator[Said]:
    for division, channel in facts.assignment.channels.items():
        if channel == PERCUSSION_CHANNEL:
            yield Said(
                f"divisions.{division}.channel",
                "channel 10 is used",
                "in General MIDI channel 10 plays percussion whatever the program",
                "choose another channel, unless the receiver is no General MIDI module",
            )


RULES = (
    Rule(
        "message-sent-twice",
        "Two points send the same note, controller or program",
        Severity.ERROR,
        "channel, kind and number of every point's messages",
        _sent_twice,
        why="The receiver cannot tell two senders apart: releasing one key ends the note that the other still holds.",
        remedy="give one of them another number or channel, or say in same_lines that they are one line",
    ),
    Rule(
        "message-out-of-range",
        "A message cannot be sent",
        Severity.ERROR,
        "notes, controllers and channels with what MIDI 1.0 can carry",
        _out_of_range,
        locked=True,
        why="MIDI 1.0 has 128 notes, 128 controllers and 16 channels; what lies outside cannot be sent.",
        remedy="move the compass, the numbers or the channel into range",
    ),
    Rule(
        "controller-is-mode-message",
        "A controller number is a channel mode message",
        Severity.ERROR,
        "controller numbers with 120 to 127 (MIDI 1.0, Table III)",
        _mode_message,
        locked=True,
        why="Receivers obey these numbers as commands, such as silencing everything, whatever the point means by them.",
        remedy="choose a number from 0 to 119",
    ),
    Rule(
        "controller-reserved",
        "A controller number has a fixed meaning",
        Severity.WARNING,
        "controller numbers with those that banks, data entry, volume and pedals use",
        _reserved,
        why=(
            "Every receiver gives these numbers a meaning of its own, and a stop that sends one changes banks or "
            "volumes."
        ),
        remedy="choose an undefined number, unless that meaning is wanted",
    ),
    Rule(
        "percussion-channel",
        "A division is on the percussion channel",
        Severity.WARNING,
        "channels with General MIDI's channel 10",
        _percussion,
        why="A General MIDI module plays drums on channel 10 whatever is selected.",
        remedy="choose another channel, unless the receiver is no such module",
    ),
    Rule(
        "message-wish-unused",
        "A wish could not be followed",
        Severity.WARNING,
        "wishes with messages",
        _wish_unused,
        why="A wish that has no effect misleads whoever reads the job later.",
        remedy="take the wish out, or change what keeps it from being followed",
    ),
    Rule(
        "continued-on-next-channel",
        "A channel's free numbers ran out",
        Severity.NOTE,
        "stops with the free controllers of a channel",
        _continued,
        why="The receiver must listen to the next channel too, or these stops are never heard.",
        remedy="set the receiver to both channels, or spread the stops over divisions",
    ),
)
