"""A step while it is under way: it takes what is heard, notes it, says what there is to say, and knows its end."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterator
from typing import NamedTuple

from retrofit.proving.evidence import Stroke
from retrofit.proving.expected import ExpectedPoint
from retrofit.proving.runs.limits import Limits
from retrofit.proving.runs.notebook import Notebook
from retrofit.proving.runs.says import Say
from retrofit.proving.runs.steps import Step

Says = Iterator[Say]


class Switched(NamedTuple):
    """A contact that said on or off."""

    time_us: int
    point: ExpectedPoint
    on: bool


class Moved(NamedTuple):
    """A shoe that sent a value of so many bits."""

    time_us: int
    point: ExpectedPoint
    value: int
    bits: int


class Stage(ABC):
    """What all steps have in common.  Each way in returns what is to be said.

    `wake_us` is when the step wants to be woken if nothing comes before; None while it waits without end.
    """

    def __init__(self, step: Step, notebook: Notebook, limits: Limits) -> None:
        self.step = step
        self.notebook = notebook
        self.limits = limits
        self.done = False
        self.is_left = False
        self.wake_us: int | None = None

    @abstractmethod
    def begin(self, now_us: int, on: frozenset[str]) -> Says:
        """Begin; `on` are the contacts that are on."""

    def switched(self, change: Switched) -> Says:  # noqa: ARG002  # most steps look at whole presses
        """Take one message of a contact."""
        return iter(())

    def pressed(self, stroke: Stroke, now_us: int) -> Says:  # noqa: ARG002  # some steps look at single messages
        """Take one whole press."""
        return iter(())

    def moved(self, move: Moved) -> Says:  # noqa: ARG002  # only one step is about shoes
        """Take one value of a shoe."""
        return iter(())

    @abstractmethod
    def woken(self, now_us: int) -> Says:
        """Go on because nothing came until `wake_us`."""

    def restarted(self, now_us: int) -> Says:
        """Begin to wait anew, because the device was away or the run was interrupted."""
        self._wait(now_us, self.limits.remind_us)
        return iter(())

    def finish(self, now_us: int) -> Says:  # noqa: ARG002  # most steps end alike at any time
        """End because the person says so; what is missing is missing."""
        self._end()
        return iter(())

    def _wait(self, now_us: int, for_us: int) -> None:
        self.wake_us = now_us + for_us

    def _end(self) -> None:
        self.done, self.wake_us = True, None

    def _leave(self) -> None:
        """End without a result: nobody did what was asked for."""
        self.is_left = True
        self._end()
