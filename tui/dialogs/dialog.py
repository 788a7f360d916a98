"""What every dialog has in common."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, Generic, TypeVar

from textual.binding import Binding, BindingType
from textual.screen import ModalScreen

from tui.keys import THROUGH_THE_PARTS

if TYPE_CHECKING:
    from tui.app import RetrofitApp

ResultT = TypeVar("ResultT")


class Dialog(ModalScreen[ResultT | None], Generic[ResultT], inherit_bindings=False):
    """A screen over a room; Esc gives it up, and its answer is then None."""

    DEFAULT_CSS = """
    Dialog { align: center middle; }
    Dialog > #box {
        width: 76; max-width: 100%; height: auto; max-height: 100%; border: double $foreground; padding: 0 1;
        background: $surface;
    }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        *THROUGH_THE_PARTS,
        Binding("escape", "give_up", "Close", id="give-up", tooltip="Close this and change nothing"),
    ]

    app: RetrofitApp

    def action_give_up(self) -> None:
        """Close without an answer."""
        self.dismiss(None)
