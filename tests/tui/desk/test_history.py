"""Undo and redo as texts."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from tui.desk.history import STEPS_KEPT, History


@given(st.lists(st.text(max_size=3), max_size=20))
def test_undoing_everything_and_redoing_it_comes_back(texts: list[str]) -> None:
    """Whatever was written, undo leads to the first text through the same steps by which redo leads to the last."""
    history = History("")
    for number, text in enumerate(texts):
        history.edited(f"edit {number}", text)
    last, back, forth = history.text, [history.text], [""]
    while (text_before := history.undo()) is not None:
        back.append(text_before)
    assert history.text == ""
    while (text_after := history.redo()) is not None:
        forth.append(text_after)
    assert history.text == last
    assert forth == back[::-1]


def test_only_so_many_steps_are_kept() -> None:
    """A sitting without end does not fill the memory: the oldest steps go."""
    history = History("0")
    for number in range(1, STEPS_KEPT + 11):
        history.edited("edit", str(number))
    while history.undo() is not None:
        pass
    assert history.text == "10"
