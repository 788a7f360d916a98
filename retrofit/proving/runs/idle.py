"""Steps in which nothing is touched: the idle picture at the beginning and the soak at the end."""

from __future__ import annotations

from retrofit.proving.expected import ExpectedPoint
from retrofit.proving.runs.limits import SECOND_US
from retrofit.proving.runs.notebook import HELD
from retrofit.proving.runs.says import Say, Sound
from retrofit.proving.runs.stage import Moved, Says, Stage, Switched
from retrofit.survey.points import PointKind

TRIES = 3
"""So often the idle picture is taken anew when somebody touches something meanwhile."""
QUARTERS = 4
"""In so many parts a soak is told, so that a long silence is known to be watched."""


class IdleStage(Stage):
    """Nothing is touched: no key and no piston may be on.  A stop may well stay drawn."""

    def begin(self, now_us: int, on: frozenset[str]) -> Says:
        """Ask for hands off, and remember what is on."""
        self._on = set(on)
        self._tries = 1
        self._moving: set[str] = set()
        self._always = {point.id for point in self.step.points if point.excuse is None}
        self._wait(now_us, self.limits.idle_us)
        yield Say(f"{self.step.title}: touch nothing for {self.limits.idle_us / SECOND_US:g} seconds")

    def switched(self, change: Switched) -> Says:
        """Keep up with what is on; what moves now was touched, or moves by itself."""
        (self._on.add if change.on else self._on.discard)(change.point.id)
        self._moving.add(change.point.id)
        return iter(())

    def woken(self, now_us: int) -> Says:
        """Take the picture, or wait again when something moved; what moves at every try is no hand."""
        self._always &= self._moving
        if not self._moving or self._tries == TRIES:
            yield from self._end_with_picture()
            return
        yield Say(f"{self.notebook.listed(sorted(self._moving))} spoke: touch nothing, once more", Sound.FAIL)
        self._tries += 1
        self._moving.clear()
        self._wait(now_us, self.limits.idle_us)

    def restarted(self, now_us: int) -> Says:
        """Wait for the whole time anew."""
        self._wait(now_us, self.limits.idle_us)
        return iter(())

    def finish(self, now_us: int) -> Says:  # noqa: ARG002  # the picture is of now
        """Take the picture now."""
        self._always &= self._moving
        yield from self._end_with_picture()

    def _end_with_picture(self) -> Says:
        """End; while somebody still plays there is no picture, and the step is left for later."""
        if self._moving and not self._always:
            yield Say(f"{self.step.title}: left for later, for something is played; none of that has counted yet")
            self._leave()
            return
        yield from self._picture()
        self._end()

    def _picture(self) -> Says:
        wrong = [p for p in self.step.points if p.id in self._on and p.kind is not PointKind.STOP]
        for point in wrong:
            self.notebook.idle[point.group].add(point.id)
            if point.excuse is None:
                self.notebook.find(self.step.kind, point.id, "is on while nothing is touched")
        held = [p for p in self.step.points if p.id in self.notebook.held and p.excuse is None]
        for point in held:
            self.notebook.find(self.step.kind, point.id, HELD)
        for name in sorted(self._always):
            self.notebook.find(self.step.kind, name, f"spoke at {self._tries} tries while nothing was touched")
        if wrong:
            yield Say(f"on though nothing is touched: {self.notebook.listed(p.id for p in wrong)}", Sound.FAIL)
        if held:
            yield Say(f"{HELD}: {self.notebook.listed(point.id for point in held)}", Sound.FAIL)
        if not (wrong or held or self._always):
            yield Say("all is off", Sound.PASS)


class SoakStage(Stage):
    """A long silence with everything that interferes switched on and off: nothing may speak."""

    def begin(self, now_us: int, on: frozenset[str]) -> Says:  # noqa: ARG002  # changes are what counts
        """Ask for interference and hands off."""
        self._begun_us = now_us
        self._quarter = 0
        self._spoke = 0
        self.notebook.soaked_us = 0
        self._wait(now_us, self.limits.soak_us // QUARTERS)
        yield Say(
            f"{self.step.title}: for {self.limits.soak_us / SECOND_US / 60:g} minutes touch no key, stop or shoe; "
            "switch blower, tremulant, lights and amplifier on and off, each several times"
        )

    def switched(self, change: Switched) -> Says:
        """No contact may speak without a hand."""
        return self._spoken(change.point, change.time_us)

    def moved(self, move: Moved) -> Says:
        """No shoe may either."""
        return self._spoken(move.point, move.time_us)

    def _spoken(self, point: ExpectedPoint, time_us: int) -> Says:
        """Note a point once, with when it first spoke; one of which nothing is expected is not accused."""
        if point.excuse is not None:
            return
        self._spoke += 1
        at_s = (time_us - self._begun_us) / SECOND_US
        if all((found.step, found.subject) != (self.step.kind, point.id) for found in self.notebook.findings):
            words = f"spoke without a hand, first {at_s:.1f} s after the soak began"
            self.notebook.find(self.step.kind, point.id, words)
            yield Say(f"{point.words} spoke without a hand", Sound.FAIL, point.note)

    def woken(self, now_us: int) -> Says:
        """Tell how far it is, or end."""
        self._quarter += 1
        self.notebook.soaked_us = now_us - self._begun_us
        if self._quarter < QUARTERS:
            yield Say(f"{self._quarter} of {QUARTERS} parts of the soak are over")
            self._wait(now_us, self.limits.soak_us // QUARTERS)
            return
        yield from self.finish(now_us)

    def restarted(self, now_us: int) -> Says:
        """Begin the soak anew: a gap proves nothing."""
        yield Say("the soak begins anew")
        yield from self.begin(now_us, frozenset())

    def finish(self, now_us: int) -> Says:
        """End the soak, however long it was."""
        self.notebook.soaked_us = now_us - self._begun_us
        self._end()
        quiet = self._spoke == 0
        yield Say("nothing spoke" if quiet else f"{self._spoke} messages without a hand", _sound(quiet))


def _sound(passed: bool) -> Sound:
    return Sound.PASS if passed else Sound.FAIL
