"""Undo and redo: the texts of a job file since it was opened."""

from __future__ import annotations

from collections import deque

STEPS_KEPT = 500


class History:
    """The text now, and the edits that lead back and forth from it."""

    def __init__(self, text: str) -> None:
        self.text = text
        self._before: deque[tuple[str, str]] = deque(maxlen=STEPS_KEPT)
        self._after: list[tuple[str, str]] = []

    @property
    def undoes(self) -> str:
        """The label of the edit that undo would take back, empty where there is none."""
        return self._before[-1][0] if self._before else ""

    @property
    def redoes(self) -> str:
        """The label of the edit that redo would make again, empty where there is none."""
        return self._after[-1][0] if self._after else ""

    def edited(self, label: str, text: str) -> None:
        """Go on to a new text; what had been undone is forgotten.  A text that changes nothing is no edit."""
        if text == self.text:
            return
        self._before.append((label, self.text))
        self._after.clear()
        self.text = text

    def undo(self) -> str | None:
        """Return the text before the last edit, which is the text from now on; None where there is none."""
        if not self._before:
            return None
        label, text = self._before.pop()
        self._after.append((label, self.text))
        self.text = text
        return text

    def redo(self) -> str | None:
        """Return the text after the edit undone last, which is the text from now on; None where there is none."""
        if not self._after:
            return None
        label, text = self._after.pop()
        self._before.append((label, self.text))
        self.text = text
        return text
