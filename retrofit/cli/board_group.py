"""How `retrofit board PORT QUESTION` is read: the port first, then the question, then what belongs to the question."""

from __future__ import annotations

import click

_LISTS = "retrofit board lists the ports"


class BoardGroup(click.Group):
    """A group of questions behind a port; a call in another order is answered with the right one."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Take the port.  Raises `click.UsageError` for a question without one, or behind an option of its own."""
        if args and args[0] in self.commands:
            ctx.fail(f"PORT is missing in front of {args[0]!r}: retrofit board PORT {' '.join(args)}; {_LISTS}")
        if args and not args[0].strip():
            ctx.fail(f"PORT is empty; name the port in front of the question; {_LISTS}")
        ahead = self._options_ahead(args)
        if ahead:
            options, question = " ".join(ahead), args[1 + len(ahead)]
            ctx.fail(f"{options} belongs behind the question: retrofit board {args[0]} {question} {options}")
        return super().parse_args(ctx, args)

    def _options_ahead(self, args: list[str]) -> list[str]:
        """Return the options between port and question, if a question follows them."""
        rest = args[1:]
        count = next((place for place, word in enumerate(rest) if not word.startswith("-")), len(rest))
        return rest[:count] if count < len(rest) and rest[count] in self.commands else []
