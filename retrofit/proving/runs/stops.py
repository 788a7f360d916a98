"""Steps with stops: one by one, all together, and a change of many by the combination action."""

from __future__ import annotations

from retrofit.proving.expected import ExpectedPoint
from retrofit.proving.runs.order import out_of_order, spread
from retrofit.proving.runs.presses import ORDER_ASKS
from retrofit.proving.runs.says import Say, Sound
from retrofit.proving.runs.stage import Says, Stage, Switched
from retrofit.proving.segments import TOGETHER_US
from retrofit.survey.points import PointKind


class StopsStage(Stage):
    """Every stop goes on and off by itself, in any order; what does not come is asked for by name."""

    def begin(self, now_us: int, on: frozenset[str]) -> Says:  # noqa: ARG002  # each has to say on and off itself
        """Say what to do."""
        self._seen: dict[str, set[bool]] = {point.id: set() for point in self.step.points}
        self._faults: dict[str, str] = {}
        self._before: Switched | None = None
        self._asked: list[ExpectedPoint] | None = None
        self._times = 0
        self._settled: list[str] = []
        self._confirmed = False
        self._wait(now_us, self.limits.remind_us)
        first = self.step.points[0]
        yield Say(
            f"{self.step.title}: move each of {len(self.step.points)} on and off, one at a time, in any order; "
            f"begin with {first.words}",
            Sound.ASK,
        )

    def switched(self, change: Switched) -> Says:
        """Note one message; a stop has passed when it said on and off alone."""
        self._wait(change.time_us, self.limits.pause_us)
        self._note_company(change)
        self._before = change
        seen = self._seen.get(change.point.id)
        if seen is None or len(seen) == 2:
            return
        seen.add(change.on)
        if len(seen) == 2:
            yield from self._settle(change.point, self._faults.get(change.point.id, ""))
            yield from self._go_on(change.time_us)

    def _note_company(self, change: Switched) -> None:
        """Another that speaks at the same time makes both suspect."""
        before = self._before
        if before is None or before.point.id == change.point.id or change.time_us - before.time_us > TOGETHER_US:
            return
        for one, other in ((before.point, change.point), (change.point, before.point)):
            self._faults[one.id] = f"came together with {other.words}"

    def _settle(self, point: ExpectedPoint, fault: str) -> Says:
        self.notebook.mark(point.id, self.step.kind, fault)
        if not fault and point.id not in self._settled:
            self._settled.append(point.id)
        yield Say(f"{point.words}: {fault or 'passed'}", Sound.FAIL if fault else Sound.PASS)

    def _missing(self) -> list[ExpectedPoint]:
        return [point for point in self.step.points if len(self._seen[point.id]) < 2]

    def _go_on(self, now_us: int) -> Says:
        if self._asked is not None and self._asked and len(self._seen[self._asked[0].id]) == 2:
            self._asked, self._times = self._missing(), 0
            yield from self._ask(now_us)
        if not self._missing():
            yield from self._confirm(now_us)

    def _confirm(self, now_us: int) -> Says:
        """Ask by name for stops that came out of order, for two that are crossed sound just like that; then end."""
        names = [point.id for point in self.step.points]
        places = [] if self._confirmed else [names.index(name) for name in self._settled]
        self._confirmed = True
        self._asked = [self.step.points[place] for place in spread(out_of_order(places), ORDER_ASKS)]
        self._seen |= {point.id: set() for point in self._asked}
        self._times = 0
        if not self._asked:
            self._end()
        yield from self._ask(now_us)

    def _ask(self, now_us: int) -> Says:
        if self._asked:
            self._times += 1
            self._wait(now_us, self.limits.ask_us)
            yield Say(f"move {self._asked[0].words} on and off", Sound.ASK)

    def woken(self, now_us: int) -> Says:
        """Ask for what is missing, each by name; what then says nothing has failed."""
        if self._asked is None:
            self._asked = self._missing()
        elif self._times >= self.limits.asks:
            point = self._asked.pop(0)
            fault = self._silence(self._seen[point.id])
            self._seen[point.id] = {True, False}
            self._times = 0
            yield from self._settle(point, fault)
        if self._asked:
            yield from self._ask(now_us)
        else:
            yield from self._confirm(now_us)

    @staticmethod
    def _silence(seen: set[bool]) -> str:
        return (
            f"says {'on' if True in seen else 'off'} but never {'off' if True in seen else 'on'}" if seen else "silent"
        )

    def finish(self, now_us: int) -> Says:  # noqa: ARG002  # what is missing is missing
        """End; what has not said on and off is not tried."""
        missing = self._missing()
        self._end()
        if missing:
            yield Say(f"not tried: {self.notebook.listed(point.id for point in missing)}")


class AllStopsStage(Stage):
    """All stops on together, then all off: no supply sags, no return lifts."""

    def begin(self, now_us: int, on: frozenset[str]) -> Says:
        """Ask for all on."""
        self._on = set(on)
        self._wanted = {point.id for point in self.step.points if self.notebook.passed(point.id)}
        self._turn = True
        self._wait(now_us, self.limits.remind_us)
        if len(self._wanted) < 2:
            self._end()
            return
        yield Say(f"{self.step.title}: draw all, then put all off", Sound.ASK)

    def switched(self, change: Switched) -> Says:
        """Watch for all on, then for all off."""
        (self._on.add if change.on else self._on.discard)(change.point.id)
        self._wait(change.time_us, self.limits.remind_us)
        if self._turn and self._on >= self._wanted:
            self._turn = False
            yield Say("all on; now all off", Sound.PASS)
        elif not self._turn and not self._on & self._wanted:
            self._end()
            yield Say("all off", Sound.PASS)

    def woken(self, now_us: int) -> Says:
        """Name what keeps it from being complete."""
        yield from self.finish(now_us)

    def finish(self, now_us: int) -> Says:  # noqa: ARG002  # what is missing is missing
        """End; if nobody moved anything this is left for later."""
        still = self._wanted - self._on if self._turn else self._wanted & self._on
        if self._turn and not self._wanted & self._on:
            yield Say(f"{self.step.title}: nothing was drawn; left for later")
            self._leave()
            return
        words = f"{self.notebook.listed(sorted(still))} did not go {'on' if self._turn else 'off'} with all the others"
        self.notebook.find(self.step.kind, self.step.subject, words)
        self._end()
        yield Say(words, Sound.FAIL)


class CombinationStage(Stage):
    """Many stops change at once: no key may speak meanwhile."""

    def begin(self, now_us: int, on: frozenset[str]) -> Says:  # noqa: ARG002  # changes are what counts
        """Ask for a combination change."""
        self._changed: set[str] = set()
        self._keys: set[str] = set()
        self._wait(now_us, self.limits.remind_us)
        yield Say(
            f"{self.step.title}: touch no key, and change many stops at once by the combination action; "
            "skip this where there is none",
            Sound.ASK,
        )

    def switched(self, change: Switched) -> Says:
        """Note what changes."""
        if change.point.kind is PointKind.KEY and change.point.excuse is None:
            self._keys.add(change.point.id)
        elif change.point.kind is PointKind.STOP:
            self._changed.add(change.point.id)
            self._wait(change.time_us, self.limits.pause_us)
        return iter(())

    def woken(self, now_us: int) -> Says:
        """Judge what changed; nothing at all leaves this for later."""
        yield from self.finish(now_us)

    def finish(self, now_us: int) -> Says:  # noqa: ARG002  # what changed has changed
        """End and judge."""
        if not self._changed and not self._keys:
            yield Say(f"{self.step.title}: no stop moved; left for later")
            self._leave()
            return
        for name in sorted(self._keys):
            self.notebook.find(self.step.kind, name, "spoke during a combination change")
        self._end()
        sound = Sound.FAIL if self._keys else Sound.PASS
        keys = f"; keys spoke: {self.notebook.listed(sorted(self._keys))}" if self._keys else ""
        yield Say(f"{len(self._changed)} stops changed{keys}", sound)
