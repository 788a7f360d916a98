"""Numbers that more than one point sends."""

from __future__ import annotations

from retrofit.midi.clashes import Clash, find_clashes
from retrofit.midi.messages import PointMessage, ShoeMessage, control_change, note_off, note_on, program_change
from retrofit.midi.uses import Use
from retrofit.survey.wishes import MessageKind

KEY = PointMessage(note_on(1, 60, 100), note_on(1, 60, 0))


def test_all_users_are_listed() -> None:
    """Three users of one note are all named, in the order of the points, whichever kind of note-off they send."""
    other_off = PointMessage(note_on(1, 60, 64), note_off(1, 60))
    found = find_clashes({"a": KEY, "b": other_off, "c": KEY}, {})
    assert found == (Clash(Use(1, MessageKind.NOTE, 60), ("a", "b", "c")),)


def test_kind_channel_and_number_keep_messages_apart() -> None:
    """The same number is no clash on another channel or as another kind."""
    messages = {
        "a": KEY,
        "b": PointMessage(note_on(2, 60, 100), b""),
        "c": PointMessage(control_change(1, 60, 127), control_change(1, 60, 0)),
        "d": PointMessage(program_change(1, 60), b""),
        "e": PointMessage(b"", b""),
    }
    assert find_clashes(messages, {"s": ShoeMessage(1, 61)}) == ()


def test_shoes_and_stops_share_controllers() -> None:
    """A shoe's controller used by a tab is a clash; with 14 bits so is its fine half."""
    tab = PointMessage(control_change(1, 11, 127), control_change(1, 11, 0))
    fine = PointMessage(control_change(1, 43, 127), control_change(1, 43, 0))
    shoe = {"shoe": ShoeMessage(1, 11, bits=14)}
    assert find_clashes({"tab": tab, "fine": fine}, shoe) == (
        Clash(Use(1, MessageKind.CONTROLLER, 11), ("tab", "shoe")),
        Clash(Use(1, MessageKind.CONTROLLER, 43), ("fine", "shoe")),
    )
    assert find_clashes({"fine": fine}, {"shoe": ShoeMessage(1, 11)}) == ()
