"""How much was heard, what of it the plan expects, and what was lost."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict

from retrofit.cli.listen_lines import Lines
from retrofit.cli.output import counted
from retrofit.proving.engine import Engine
from retrofit.proving.sources import Losses, Source

_STRAYS_SHOWN = 8


def counts_json(lines: Lines, source: Source) -> dict[str, object]:
    """Return the counts for other programs; keys of the plan are there only where there is one."""
    content: dict[str, object] = {"messages": lines.messages, "away": source.away, "losses": asdict(source.losses)}
    engine = lines.engine
    if engine is not None:
        content |= {
            "of_contacts": engine.contact_messages,
            "of_shoes": engine.shoe_messages,
            "not_in_plan": engine.stray_messages,
            "others": engine.other_messages,
            "contacts_heard": _contacts_heard(engine),
            "on_now": [engine.expected.contacts[index].id for index in engine.on_now()],
        }
    return content


def counts_words(lines: Lines, source: Source) -> Iterator[str]:
    """Yield the counts as lines; nothing heard at all is another thing than nothing that was expected."""
    if not lines.messages:
        yield f"nothing was heard from {source.words}"
    else:
        quiet = f"; {lines.without_line} of them say nothing of contacts" if lines.without_line else ""
        yield f"heard {counted(lines.messages, 'message')}{quiet}"
        if lines.engine is not None:
            yield from _by_plan(lines.engine)
    yield from _lost(source.losses)
    if source.away:
        yield f"{source.words} is away"


def _by_plan(engine: Engine) -> Iterator[str]:
    heard, known = _contacts_heard(engine), len(engine.expected.contacts)
    yield (
        f"{counted(engine.contact_messages, 'message')} of {heard} of the {known} contacts, "
        f"{engine.shoe_messages} of shoes, {engine.stray_messages} not in the plan"
    )
    if engine.stray_messages and not engine.contact_messages + engine.shoe_messages:
        yield "nothing of what was heard is in the plan: is it this console, and are its channels those of the file?"
    if on_now := engine.on_now():
        yield f"still on: {', '.join(engine.expected.contacts[index].words for index in on_now)}"
    strays = sorted(engine.strays.items(), key=lambda stray: (-stray[1], stray[0]))
    if strays:
        named = ", ".join(f"{words} ({times})" for words, times in strays[:_STRAYS_SHOWN])
        yield f"not in the plan: {named}{', ...' if len(strays) > _STRAYS_SHOWN else ''}"


def _contacts_heard(engine: Engine) -> int:
    return sum(tally.edges > 0 for tally in engine.contacts)


def _lost(losses: Losses) -> Iterator[str]:
    if losses.stray_bytes:
        yield f"{counted(losses.stray_bytes, 'byte')} belonged to no message"
    if losses.cut_messages:
        yield f"{counted(losses.cut_messages, 'message')} began and did not end"
    if losses.dropped:
        yield f"at least {counted(losses.dropped, 'message')} came faster than they could be taken, and were lost"
