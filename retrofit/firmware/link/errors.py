"""Everything that can go wrong between a computer and a board, in words for whoever sits there."""

from __future__ import annotations


class LinkError(Exception):
    """The board could not be asked: `found` says what happened, `remedy` what to do about it."""

    def __init__(self, found: str, remedy: str) -> None:
        super().__init__(f"{found}; {remedy}")
        self.found = found
        self.remedy = remedy


class PortNotOpenedError(LinkError):
    """The serial port cannot be opened."""


class PortGoneError(LinkError):
    """The serial port went away while it was in use."""


class SilenceError(LinkError):
    """Nothing that could be an answer came in time."""


class VersionError(LinkError):
    """The board speaks another version of the protocol."""


class RefusedError(LinkError):
    """The board understood and refused; `reason` is its code."""

    def __init__(self, found: str, remedy: str, reason: int) -> None:
        super().__init__(found, remedy)
        self.reason = reason


class AnswerError(LinkError):
    """An answer arrived whole and cannot be what the question asks for."""


class TimeUpError(LinkError):
    """A command took longer than it may as a whole."""
