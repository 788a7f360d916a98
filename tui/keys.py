"""Keys that mean the same in every room and dialog."""

from __future__ import annotations

from textual.binding import Binding

THROUGH_THE_PARTS = (
    Binding("tab", "app.focus_next", "Next part", show=False, id="next-part", tooltip="Go to the next part"),
    Binding(
        "shift+tab", "app.focus_previous", "Part before", show=False, id="part-before", tooltip="Go to the part before"
    ),
)
"""From one list or field to the next and back."""
