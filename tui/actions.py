"""Every action that can be done now: the list behind `?` and behind the command palette."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import partial
from typing import Any

from textual.app import App
from textual.binding import Binding
from textual.command import DiscoveryHit, Hit, Hits, Provider
from textual.screen import Screen
from textual.widget import Widget

from tui.widgets.words import plain


@dataclass(frozen=True, slots=True)
class Live:
    """An action that works where the cursor is: its keys, its name, what it does, and on what it is done."""

    keys: tuple[str, ...]
    name: str
    help: str
    action: str
    node: App[object] | Screen[object] | Widget


def live_actions(app: App[Any], screen: Screen[object]) -> list[Live]:
    """Return the actions of a screen: the room's, then those of the list under the cursor, then what works everywhere.

    Keys that do the same share an entry.
    """
    found: dict[tuple[str, int], Live] = {}
    for active in screen.active_bindings.values():
        binding = active.binding
        if not active.enabled or not binding.description:
            continue
        place = (binding.action, id(active.node))
        keys = (*(found[place].keys if place in found else ()), app.get_key_display(binding))
        node: App[object] | Screen[object] | Widget = active.node  # type: ignore[assignment]  # every node of the chain is one of these
        found[place] = Live(keys, binding.description, _help(binding), binding.action, node)
    return sorted(found.values(), key=lambda live: _far(live.node))


def _far(node: object) -> int:
    """Return how far down an action stands in the list, by what it belongs to."""
    return 0 if isinstance(node, Screen) else 2 if isinstance(node, App) else 1


def _help(binding: Binding) -> str:
    return binding.tooltip or binding.description


class ActionsProvider(Provider):
    """The command palette's entries: whatever could be done by a key."""

    def _live(self) -> Iterable[Live]:
        return live_actions(self.app, self.screen)

    async def discover(self) -> Hits:
        """Yield every action before anything is typed."""
        for live in self._live():
            yield DiscoveryHit(plain(_entry(live)), partial(self._run, live), live.name, live.help)

    async def search(self, query: str) -> Hits:
        """Yield the actions whose name or help fits what was typed."""
        matcher = self.matcher(query)
        for live in self._live():
            score = matcher.match(f"{live.name} {live.help}")
            if score > 0:
                yield Hit(score, plain(_entry(live)), partial(self._run, live), live.name, live.help)

    async def _run(self, live: Live) -> None:
        await self.app.run_action(live.action, default_namespace=live.node)


def _entry(live: Live) -> str:
    return f"{live.name}  ({', '.join(live.keys)})"
