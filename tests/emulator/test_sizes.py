"""Memory of whole consoles on every board: seen in the emulator, within what the plan sets aside, and said if not."""

from __future__ import annotations

from dataclasses import replace

import pytest

from retrofit.catalogue.load import load_catalogue
from tests.emulator import sizes
from tests.emulator.demos import Console, Spoil, console, prompt_job
from tests.emulator.memory_use import MemoryUse, memory_use
from tests.emulator.rp2040.consoles import on_this_board
from tests.emulator.usb_console import on_small_board

SMALL = MemoryUse("atmega32u4", 26320, 28672, 1655, 2560, 84, 180, 821)
LEAST_STACK = 20
"""A few return addresses and saved registers: no firmware with calls inside calls needs less."""

DEEP = Spoil(
    "board.c",
    "    memory_begin();\n",
    "    volatile uint8_t deep[400];\n    for (uint16_t i = 0; i != 400; i++) {\n        deep[i] = 1;\n    }\n"
    "    memory_begin();\n",
)


def built(board: str, *spoils: Spoil) -> Console:
    """Return the smaller demo on a board, all of it on the chain."""
    job = on_small_board(prompt_job("gutted_home"))
    if board == "rp2040":
        job = on_this_board(job)
    elif board == "atmega2560":
        job = prompt_job("gutted_home")
    return console(job, spoils)


@pytest.mark.emulator
@pytest.mark.parametrize("board", ["atmega2560", "atmega32u4", "rp2040"])
def test_the_deepest_stack_seen_is_within_what_the_plan_sets_aside(board: str) -> None:
    """With everything at once (playing, noise by MIDI, questions by the link) data and stack never meet."""
    use = memory_use(built(board))
    assert use.board == board
    assert LEAST_STACK < use.stack <= use.stack_allowed
    assert use.fits
    assert use.ram + use.stack + use.unseen <= load_catalogue().boards[board].ram_bytes + LEAST_STACK


@pytest.mark.emulator
def test_a_stack_that_is_too_deep_is_noticed() -> None:
    """Four hundred bytes more on the stack than the firmware takes are more than was set aside."""
    use = memory_use(built("atmega2560", DEEP))
    assert use.stack > 400
    assert not use.fits


@pytest.mark.parametrize(
    "use", [replace(SMALL, flash_room=26319), replace(SMALL, stack_allowed=83), replace(SMALL, unseen=0)]
)
def test_whatever_is_too_small_does_not_fit(use: MemoryUse) -> None:
    """Program memory, the stack's share, and bytes that are left each decide alone."""
    assert SMALL.fits
    assert not use.fits


@pytest.mark.parametrize(("use", "code"), [(SMALL, 0), (replace(SMALL, stack=181), 1)])
def test_the_table_has_a_line_for_each_console(
    use: MemoryUse, code: int, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The numbers stand under their heads; what does not fit is said there and by the exit code."""
    monkeypatch.setattr(sizes, "memory_use", lambda _: use)
    monkeypatch.setattr(sizes, "CONSOLES", {"one": lambda: None})
    assert sizes.main([]) == code
    out, err = capsys.readouterr()
    head, line = out.splitlines()
    assert head.split() == ["console", "board", "flash", "of", "RAM", "of", "stack", "set", "aside", "untouched"]
    numbers = ["26320", "28672", "1655", "2560", str(use.stack), "180", "821"]
    assert line.split() == ["one", "atmega32u4", *numbers, *(["DOES", "NOT", "FIT"] if code else [])]
    assert err == ""


def test_what_cannot_be_run_is_said(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """The words go to stderr, nothing to stdout, and the exit code is 1."""

    def refused(_: Console) -> MemoryUse:
        raise RuntimeError("the emulated console complains: of something")

    monkeypatch.setattr(sizes, "memory_use", refused)
    monkeypatch.setattr(sizes, "CONSOLES", {"one": lambda: None})
    assert sizes.main([]) == 1
    assert capsys.readouterr() == ("", "sizes: the emulated console complains: of something\n")
