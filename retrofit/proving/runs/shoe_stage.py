"""The step of one shoe: a slow sweep from end to end and back."""

from __future__ import annotations

from retrofit.proving.runs.says import Say, Sound
from retrofit.proving.runs.shoe_sweep import sweep_figures
from retrofit.proving.runs.stage import Moved, Says, Stage

VALUES_KEPT = 20_000
"""Of an endless sweep so many values are judged: at a hundred a second, more than three minutes."""


class ShoeStage(Stage):
    """A shoe is moved slowly from closed to open and back; a pause ends it."""

    def begin(self, now_us: int, on: frozenset[str]) -> Says:  # noqa: ARG002  # no contact is part of it
        """Ask for the sweep."""
        self._values: list[int] = []
        self._bits = 7
        self._wait(now_us, self.limits.remind_us)
        yield Say(f"{self.step.title}: move it slowly from closed to open and back; a pause ends it", Sound.ASK)

    def moved(self, move: Moved) -> Says:
        """Note a value of this shoe."""
        if move.point.id == self.step.subject and len(self._values) < VALUES_KEPT:
            self._values.append(move.value)
            self._bits = move.bits
            self._wait(move.time_us, self.limits.pause_us)
        return iter(())

    def woken(self, now_us: int) -> Says:
        """A pause ends the sweep."""
        yield from self.finish(now_us)

    def finish(self, now_us: int) -> Says:  # noqa: ARG002  # what came has come
        """Judge the sweep; a shoe of which nothing came is left, for silence may mean that nobody moved it."""
        shoe = self.step.points[0]
        if not self._values:
            yield Say(f"{shoe.words}: nothing came; left for later")
            self._leave()
            return
        figures = sweep_figures(self._values, self._bits)
        faults = figures.wrong(self.limits)
        self.notebook.shoes[shoe.id] = figures
        self.notebook.mark(shoe.id, self.step.kind, "; ".join(faults))
        self._end()
        words = "; ".join(faults) or f"{figures.values} values from {figures.least} to {figures.greatest}"
        yield Say(f"{shoe.words}: {words}", Sound.FAIL if faults else Sound.PASS)
