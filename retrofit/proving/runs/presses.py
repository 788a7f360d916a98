"""Steps made of single presses: a run over a group in any order, the asking for what it did not bring, a fast run."""

from __future__ import annotations

from collections.abc import Sequence

from retrofit.proving.evidence import HeardPoint, Stroke
from retrofit.proving.expected import ExpectedPoint
from retrofit.proving.runs.notebook import Notebook
from retrofit.proving.runs.order import out_of_order, spread
from retrofit.proving.runs.says import Say, Sound
from retrofit.proving.runs.stage import Says, Stage
from retrofit.survey.points import PointKind

SILENT_GROUP_ASKS = 3
"""Of a group of which nothing at all was heard, so many points are asked for: the ends and the middle."""
ORDER_ASKS = 8
"""Of points that were heard out of order so many are asked for by name."""


def wrong_in(stroke: Stroke, notebook: Notebook, of: HeardPoint) -> str:
    """Return what was wrong with one point of a press, in words; nothing when it was right."""
    others = [h.point for h in stroke.heard if h.point != of.point and not notebook.is_companion(h.point, of.point)]
    faults = []
    if others:
        faults.append(f"came together with {notebook.listed(others)}")
    if of.off_us is None:
        faults.append("did not go off")
    return "; ".join(faults)


def ended_us(stroke: Stroke) -> int:
    """Return when the last contact of a press went off, or on where it stayed on."""
    return max(heard.on_us if heard.off_us is None else heard.off_us for heard in stroke.heard)


class RunStage(Stage):
    """A run over a group, one point at a time, in any order; a pause ends it."""

    def begin(self, now_us: int, on: frozenset[str]) -> Says:  # noqa: ARG002  # presses are what counts
        """Say what to play, and with what to begin."""
        self._begun_us = now_us
        self._last = -1
        self._heard: set[str] = set()
        self._any = False
        self._wait(now_us, self.limits.remind_us)
        points = self.step.points
        verb = "press" if points[0].kind is PointKind.PISTON else "play"
        yield Say(
            f"{self.step.title}: {verb} each of {len(points)} alone, slowly, rising or in any order; what comes "
            f"out of order is asked for by name; a pause ends it; begin with {points[0].words}",
            Sound.ASK,
            points[0].note,
        )

    def pressed(self, stroke: Stroke, now_us: int) -> Says:  # noqa: ARG002  # the press has its own times
        """Judge a press, and say what comes next."""
        if not stroke.heard or stroke.heard[0].on_us < self._begun_us:
            return
        self.notebook.hear(self.step.subject, stroke)
        self._any = True
        self._wait(ended_us(stroke), self.limits.pause_us)
        wrong = [(heard, wrong_in(stroke, self.notebook, heard)) for heard in stroke.heard]
        for heard, fault in wrong:
            if heard.point in self.notebook.points:
                self.notebook.mark(heard.point, self.step.kind, fault)
                self._heard.add(heard.point)
        first = stroke.heard[0]
        point = next((p for p in self.step.points if p.id == first.point), None)
        yield from self._answer(first, point, wrong[0][1])
        if all(p.id in self._heard for p in self.step.points):
            self._end()

    def _answer(self, heard: HeardPoint, point: ExpectedPoint | None, fault: str) -> Says:
        words = self.notebook.words(heard.point)
        known = self.notebook.points.get(heard.point)
        if known is None:
            return  # the run itself tells of messages of no point, when they come
        if known.excuse is not None:
            yield Say(f"{words} speaks, and was {known.excuse}")
        elif point is None:
            yield Say(f"{words} is not of {self.step.subject}", Sound.FAIL)
        else:
            self._last = self.step.points.index(point)
            verdict = f"{words}: {fault or 'passed'}"
            yield Say(f"{verdict}{self._next_words()}", Sound.FAIL if fault else Sound.PASS, point.note)

    def _next_words(self) -> str:
        points = self.step.points
        later = [*points[self._last + 1 :], *points[: self._last + 1]]
        expected = next((point for point in later if point.id not in self._heard), None)
        return "" if expected is None else f"; next {expected.words}"

    def woken(self, now_us: int) -> Says:
        """A pause after something was heard ends the run; before that, say it again, and give up in the end."""
        if self._any:
            yield from self.finish(now_us)
        elif now_us - self._begun_us >= self.limits.give_up_us:
            yield Say(f"nothing at all was heard of {self.step.subject}", Sound.FAIL)
            self._end()
        else:
            yield Say(f"nothing heard yet; begin with {self.step.points[0].words}", Sound.ASK, self.step.points[0].note)
            self._wait(now_us, self.limits.remind_us)

    def finish(self, now_us: int) -> Says:  # noqa: ARG002  # what is missing is missing
        """End the run, and say what it did not bring."""
        missing = [point.id for point in self.step.points if point.id not in self._heard]
        self._end()
        if len(missing) == len(self.step.points):
            yield Say(f"nothing of {self.step.subject} was heard yet")
        elif missing:
            yield Say(f"not heard yet: {self.notebook.listed(missing)}")


class AskedStage(Stage):
    """Each point that the run did not bring, or not rightly, is asked for by name."""

    def begin(self, now_us: int, on: frozenset[str]) -> Says:  # noqa: ARG002  # presses are what counts
        """Ask for the first that is missing; when none is, there is nothing to say."""
        missing = [point for point in self.step.points if not self.notebook.passed(point.id)]
        self._silent = not any(point.id in self.notebook.marks for point in self.step.points)
        self._missing = _ends_and_middle(missing) if self._silent else [*missing, *self._doubtful(missing)]
        self._named = {point.id for point in self._missing}
        self._times = 0
        yield from self._ask(now_us)

    def _doubtful(self, missing: Sequence[ExpectedPoint]) -> list[ExpectedPoint]:
        """Return points that were heard out of order, as many as are asked for; note the others as not confirmed.

        Whoever plays in his own order does not tell which key he pressed: two crossed wires sound just like that.
        """
        place_of = {point.id: place for place, point in enumerate(self.step.points)}
        heard = [stroke.heard[0].point for stroke in self.notebook.run.get(self.step.subject, ())]
        places = [place_of[name] for name in dict.fromkeys(heard) if name in place_of]
        points = [self.step.points[place] for place in out_of_order(places)]
        points = [point for point in points if point not in missing]
        asked = spread(points, ORDER_ASKS)
        self.notebook.unconfirmed |= {point.id for point in points if point not in asked}
        return asked

    def _ask(self, now_us: int) -> Says:
        if not self._missing:
            self._conclude()
            return
        point = self._missing[0]
        self._times += 1
        self._asked_us = now_us
        self._wait(now_us, self.limits.ask_us)
        yield Say(f"press {point.words}", Sound.ASK, point.note)

    def _conclude(self) -> None:
        """End; a group of which not one point answered is a finding of its own."""
        self._end()
        if self._silent and not any(self.notebook.passed(point.id) for point in self.step.points):
            self.notebook.find(self.step.kind, self.step.subject, "not one point of this group was heard rightly")

    def pressed(self, stroke: Stroke, now_us: int) -> Says:
        """Judge the press that was asked for; one that began before the asking is none."""
        if self.done or not stroke.heard or stroke.heard[0].on_us < self._asked_us:
            return
        point = self._missing[0]
        self.notebook.asked[self.step.subject].append(stroke._replace(asked=point.id))
        own = next((heard for heard in stroke.heard if heard.point == point.id), None)
        fault = self._instead(stroke) if own is None else wrong_in(stroke, self.notebook, own)
        if fault and self._times < self.limits.asks:
            yield Say(f"{point.words}: {fault}; once more", Sound.FAIL, point.note)
            yield from self._ask(now_us)
            return
        if own is None:
            self._ask_as_well(stroke)
        yield from self._settle(point, fault, now_us)

    def _ask_as_well(self, stroke: Stroke) -> None:
        """What came in place of another point has not shown where its own wire lies: it is asked for too, once."""
        came = {heard.point for heard in stroke.heard} - self._named
        self._named |= came
        self._missing += [point for point in self.step.points if point.id in came]

    def _instead(self, stroke: Stroke) -> str:
        return f"{self.notebook.listed(heard.point for heard in stroke.heard)} came instead"

    def _settle(self, point: ExpectedPoint, fault: str, now_us: int) -> Says:
        self._mark(point, fault)
        yield Say(f"{point.words}: {fault or 'passed'}", Sound.FAIL if fault else Sound.PASS, point.note)
        self._missing, self._times = self._missing[1:], 0
        yield from self._ask(now_us)

    def _mark(self, point: ExpectedPoint, fault: str) -> None:
        self.notebook.mark(point.id, self.step.kind, fault)

    def woken(self, now_us: int) -> Says:
        """Silence: ask again, then note that nothing came."""
        if self._times < self.limits.asks:
            yield from self._ask(now_us)
            return
        point = self._missing[0]
        self.notebook.asked[self.step.subject].append(Stroke((), asked=point.id))
        yield from self._settle(point, f"nothing came though it was asked for {self.limits.asks} times", now_us)

    def restarted(self, now_us: int) -> Says:
        """Ask for the same point anew."""
        self._times = 0
        yield from self._ask(now_us)


class CauseStage(AskedStage):
    """Presses that tell causes apart: each point is asked for, however it did before; none is passed by this alone."""

    def begin(self, now_us: int, on: frozenset[str]) -> Says:  # noqa: ARG002  # presses are what counts
        """Ask for the first."""
        self._silent = False
        self._missing = list(self.step.points)
        self._named = {point.id for point in self._missing}
        self._times = 0
        yield from self._ask(now_us)

    def _mark(self, point: ExpectedPoint, fault: str) -> None:
        """A point that failed before has not passed because it was right once more."""
        if fault or point.id not in self.notebook.marks:
            super()._mark(point, fault)


def _ends_and_middle(points: Sequence[ExpectedPoint]) -> list[ExpectedPoint]:
    if len(points) <= SILENT_GROUP_ASKS:
        return list(points)
    return [points[0], points[len(points) // 2], points[-1]]


class FastStage(Stage):
    """The run once more, quickly: it shows which contacts bounce; a point that is missed is not accused."""

    def begin(self, now_us: int, on: frozenset[str]) -> Says:  # noqa: ARG002  # presses are what counts
        """Ask for a quick run."""
        self._begun_us = now_us
        self._count = 0
        self._wait(now_us, self.limits.remind_us)
        yield Say(f"{self.step.title}: once more, as fast as you like; a pause ends it", Sound.ASK)

    def pressed(self, stroke: Stroke, now_us: int) -> Says:  # noqa: ARG002  # the press has its own times
        """Count; the live engine keeps the figures of each contact."""
        if stroke.heard and stroke.heard[0].on_us >= self._begun_us:
            self._count += 1
            self._wait(ended_us(stroke), self.limits.pause_us)
        return iter(())

    def woken(self, now_us: int) -> Says:
        """A pause ends it; if nothing came, it is left for later."""
        if self._count:
            yield from self.finish(now_us)
            return
        yield Say(f"{self.step.title}: nothing was played; left for later")
        self._leave()

    def finish(self, now_us: int) -> Says:  # noqa: ARG002  # the count is of now
        """End, and say how much was heard."""
        yield Say(f"{self._count} presses heard", Sound.PASS)
        self._end()
