"""Every key of the program: named, explained, on every keyboard, and listed where it works."""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from textual.binding import Binding
from textual.dom import DOMNode
from textual.pilot import Pilot

import tui
from tests.tui.driving import drive
from tui.actions import live_actions
from tui.app import RetrofitApp
from tui.widgets.frame import ROOMS

TERMINALS_OWN = {"ctrl+c", "ctrl+d", "ctrl+h", "ctrl+i", "ctrl+j", "ctrl+m", "ctrl+s", "ctrl+w"}
"""Signals, flow control, and what a terminal cannot tell from Tab, Enter or Backspace (ECMA-48, POSIX termios)."""
LETTERS_AND_DIGITS = "abcdefghijklmnopqrstuvwxyz0123456789"
WITHOUT_ALTGR = {*LETTERS_AND_DIGITS, "question_mark", "space", "full_stop", "comma", "minus", "plus"}
"""On German, French and Nordic layouts these need no AltGr (common practice, no source)."""
ARROWS = {"left", "right", "up", "down", "home", "end", "pageup", "pagedown"}
NAMED = {*ARROWS, "tab", "shift+tab", "escape", "enter", "delete", "backspace", "insert"}


def classes() -> Iterator[type[DOMNode]]:
    """Yield every class of ours that takes keys."""
    for module in pkgutil.walk_packages(tui.__path__, "tui."):
        loaded = importlib.import_module(module.name)
        for found in vars(loaded).values():
            if isinstance(found, type) and issubclass(found, DOMNode) and found.__module__ == module.name:
                yield found


def bindings() -> list[tuple[str, Binding]]:
    """Return every binding with the class that declares it."""
    return [
        (found.__qualname__, binding)
        for found in classes()
        for binding in found.__dict__.get("BINDINGS", ())
        if isinstance(binding, Binding)
    ]


def keys(binding: Binding) -> list[str]:
    """Return the keys of a binding, one by one."""
    return [key.strip() for key in binding.key.split(",")]


def test_every_binding_has_id_name_and_help() -> None:
    """None is without words for the list of keys and the palette."""
    assert len(bindings()) > 40
    bare = [(name, b.key) for name, b in bindings() if not (b.id and b.description and b.tooltip)]
    assert bare == []


def test_an_id_means_one_thing() -> None:
    """Two bindings of one id have the same key and the same words."""
    meant: dict[str, tuple[str, str]] = {}
    for name, binding in bindings():
        words = (binding.key, binding.tooltip)
        assert meant.setdefault(str(binding.id), words) == words, (name, binding.id)


def can_be_typed(key: str) -> bool:
    """Return whether a key is there on every keyboard, and reaches the program from every terminal."""
    if key.startswith("ctrl+"):
        plain = key.removeprefix("ctrl+")
        return key not in TERMINALS_OWN and (plain in NAMED or (plain.isalpha() and len(plain) == 1))
    return key in NAMED or key in WITHOUT_ALTGR


def test_every_key_can_be_typed_everywhere() -> None:
    """No AltGr, no function keys, and nothing that a terminal keeps for itself."""
    assert [(name, key) for name, b in bindings() for key in keys(b) if not can_be_typed(key)] == []


@pytest.mark.parametrize("key", ["f1", "at", "ctrl+c", "left_square_bracket", "ctrl+s", "tilde", "A"])
def test_a_key_that_some_lack_is_found_out(key: str) -> None:
    """The check above can fail."""
    assert not can_be_typed(key)


def test_what_works_is_listed_in_every_room(gutted: Path) -> None:
    """The list of keys holds every binding of the room, and each has a help of its own."""

    async def steps(pilot: Pilot[None], app: RetrofitApp) -> None:
        for number, name in enumerate(ROOMS, 1):
            await pilot.press(str(number))
            await pilot.pause()
            listed = {live.action for live in live_actions(app, app.screen)}
            own = (
                {b.action for b in type(app.screen).__dict__["BINDINGS"]}
                if "BINDINGS" in vars(type(app.screen))
                else set()
            )
            assert own <= listed, name
            await pilot.press("question_mark")
            await pilot.pause()
            assert app.screen.is_modal
            await pilot.press("escape")

    drive(gutted, steps)


def test_the_palette_does_what_it_names(gutted: Path) -> None:
    """An action is found by its name and done."""

    async def steps(pilot: Pilot[None], app: RetrofitApp) -> None:
        await pilot.press("ctrl+p")
        await pilot.press(*"putback")
        await pilot.pause(0.5)
        await pilot.press("down", "enter")
        await pilot.pause(0.5)
        assert app.current_mode == "putback"

    drive(gutted, steps)
