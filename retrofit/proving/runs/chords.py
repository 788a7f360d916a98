"""Chord tests: points held together; what is on beside them accuses a diode or a joint of wires."""

from __future__ import annotations

from retrofit.proving.evidence import Chord
from retrofit.proving.runs.limits import SECOND_US
from retrofit.proving.runs.notebook import ChordHeard
from retrofit.proving.runs.says import Say, Sound
from retrofit.proving.runs.stage import Says, Stage, Switched
from retrofit.proving.runs.steps import ChordTest


class ChordStage(Stage):
    """One chord after the other; a chord counts once all its points were on together for a while.

    What the board mutes since its start counts as on: it is closed, though nothing is heard of it.  A chord with a
    point that was heard wrongly alone is left out: it could not be held.
    """

    def begin(self, now_us: int, on: frozenset[str]) -> Says:
        """Ask for the first chord."""
        self._on = set(on)
        self._place = 0
        self._times = 0
        self._together: frozenset[str] = frozenset()
        yield from self._ask(now_us)

    @property
    def _closed(self) -> frozenset[str]:
        return frozenset(self._on) | self.notebook.held

    @property
    def _test(self) -> ChordTest:
        return self.step.chords[self._place]

    def _leave_out(self) -> Says:
        """Pass over the chords that could not be held, and say so."""
        while self._place < len(self.step.chords):
            wrong = [point for point in self._test.points if self.notebook.failed(point)]
            if not wrong:
                return
            yield Say(f"chord {self._place + 1} is left out: {self.notebook.listed(wrong)} not heard rightly alone")
            self._place += 1

    def _ask(self, now_us: int) -> Says:
        yield from self._leave_out()
        if self._place == len(self.step.chords):
            self._end()
            return
        self._times += 1
        self._heard: set[str] = set()
        self._holding = False
        self._standing = {name for name in self._closed if self.notebook.is_excused(name)}
        self._wait(now_us, self.limits.remind_us)
        number = f"chord {self._place + 1} of {len(self.step.chords)}"
        yield Say(f"{self.step.subject}: {number}: hold {self.notebook.listed(self._test.points)}", Sound.ASK)

    def switched(self, change: Switched) -> Says:
        """Follow what is on; judge the chord when it is let go too early to have counted."""
        (self._on.add if change.on else self._on.discard)(change.point.id)
        if not self.done:
            self._together = max(self._together, self._closed.intersection(self._test.points), key=len)
        if self._holding:
            self._heard |= self._closed
            if not change.on and change.point.id in self._test.points:
                self._holding = False
                self._wait(change.time_us, self.limits.remind_us)
        elif not self.done and self._closed.issuperset(self._test.points):
            self._holding = True
            self._heard = set(self._closed)
            self._wait(change.time_us, self.limits.hold_us)
        return iter(())

    def woken(self, now_us: int) -> Says:
        """Judge a chord that was held long enough; ask again for one that never was, then note it."""
        if self._holding:
            yield from self._judge(now_us)
        elif self._times < self.limits.asks:
            yield from self._ask(now_us)
        else:
            words = f"chord {self._place + 1} was never held whole: {self._lacking()}"
            self.notebook.find(self.step.kind, self.step.subject, words)
            yield Say(words, Sound.FAIL)
            yield from self._next(now_us)

    def _lacking(self) -> str:
        """Return what kept the chord from counting: points that were not on with the others, or breaks."""
        missing = [point for point in self._test.points if point not in self._together]
        whole = f"all were on, and not for {self.limits.hold_us / SECOND_US:g} s without a break"
        return f"{self.notebook.listed(missing)} not on" if missing else whole

    def _judge(self, now_us: int) -> Says:
        group, test = self.step.subject, self._test
        pressed = frozenset(test.points)
        heard = frozenset(self._heard) - self._standing
        extra = heard - pressed - self.notebook.held
        self.notebook.chords[group].append(Chord(pressed, heard))
        suspects = test.suspects(extra) if extra else ()
        self.notebook.chord_tests.append(ChordHeard(group, test.points, tuple(sorted(extra)), suspects))
        if extra:
            words = f"chord {self._place + 1} also gives {self.notebook.listed(sorted(extra))}"
            words += f": look at the diode of {self.notebook.listed(suspects)}" if suspects else ""
            self.notebook.find(self.step.kind, group, words)
            yield Say(words, Sound.FAIL)
        else:
            yield Say("nothing beside the chord", Sound.PASS)
        yield from self._next(now_us)

    def _next(self, now_us: int) -> Says:
        self._place, self._times, self._together = self._place + 1, 0, frozenset()
        yield from self._ask(now_us)

    def restarted(self, now_us: int) -> Says:
        """Ask for the same chord anew."""
        self._times = 0
        yield from self._ask(now_us)
