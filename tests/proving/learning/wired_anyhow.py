"""A console in software whose wires go to the inputs of their group in any order, and its player."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from random import Random

from retrofit.catalogue.load import load_catalogue
from retrofit.cli.rehearse_console import StandInSource
from retrofit.plan.as_built import addresses_to_record
from retrofit.plan.build import plan_conversion
from retrofit.plan.model import ConversionPlan
from retrofit.proving.engine import Engine
from retrofit.proving.expected import expected_of
from retrofit.proving.learning.lesson import Lesson
from retrofit.proving.learning.table import places_of_points
from retrofit.proving.learning.teaching import HeardPresses, teach
from retrofit.proving.runs.clock import HeardClock
from retrofit.proving.runs.limits import SECOND_US
from retrofit.proving.runs.says import Say
from retrofit.rehearsal.standin.console import StandIn
from retrofit.rehearsal.standin.from_plan import wiring_of
from retrofit.rehearsal.standin.manners import EXACT, Manner
from retrofit.rehearsal.standin.player import Player
from retrofit.rehearsal.standin.stand_ins import bounces_of
from retrofit.survey.instrument import Progress
from retrofit.survey.load import parse_job
from tests.cli.conftest import demo


def gutted_plan() -> ConversionPlan:
    """Return the plan of the gutted demo console."""
    return plan_conversion(parse_job(demo("gutted_home.toml"), "gutted.toml"), load_catalogue())


@dataclass
class WiredAnyhow:
    """A console whose board has one plan, and whose wires lie by another: `truth` is where each point really is."""

    console: StandIn
    truth: dict[str, str]


def wired_anyhow(plan: ConversionPlan, group: str, random: Random) -> WiredAnyhow:
    """Return a console in which the wires of a group lie in any order."""
    before = addresses_to_record(plan.points)
    own = [point.point.id for point in plan.points if point.point.group == group and point.point.id in before]
    places = [before[point] for point in own]
    random.shuffle(places)
    truth = dict(zip(own, places, strict=True))
    wired = tuple(one.model_copy(update={"progress": Progress.WIRED}) for one in plan.job.divisions)
    job = plan.job.model_copy(update={"addresses": before | truth, "divisions": wired})
    wiring = wiring_of(plan_conversion(job, load_catalogue()), load_catalogue())
    return WiredAnyhow(StandIn(plan, wiring, bounces_of(plan, 2000.0), random.getrandbits(32)), truth)


@dataclass
class Pupil:
    """The person at the console: plays the run as asked, and presses what is asked for."""

    lesson: Lesson
    console: StandIn
    clock: HeardClock
    player: Player
    heard: list[str] = field(default_factory=list)

    def say(self, say: Say) -> None:
        """Do what is said."""
        self.heard.append(say.words)
        points = [key.point for key in self.lesson.keys]
        now_us = self.clock.now_us() + SECOND_US
        by_words = {key.words: key.point for key in self.lesson.keys}
        named = say.words.removeprefix("press ").split(", known ")[0]
        if say.words.startswith("press each of "):
            self.console.do(self.player.run(points, now_us))
        elif say.words.startswith("now back down"):
            self.console.do(self.player.run(points[::-1], now_us))
        elif named in by_words:
            self.console.do(self.player.asked(by_words[named], self.clock.now_us()))

    def words(self) -> Sequence[str]:
        """Type nothing."""
        return ()


def taught_by_playing(
    plan: ConversionPlan, lesson: Lesson, anyhow: WiredAnyhow, manner: Manner = EXACT, seed: int = 1
) -> Pupil:
    """Hold a whole lesson; return whoever played."""
    clock = HeardClock()
    source = StandInSource(anyhow.console, clock)
    clock.heard(6 * SECOND_US)
    source.poll()
    pupil = Pupil(lesson, anyhow.console, clock, Player(Random(seed), manner))
    presses = HeardPresses(source, Engine(expected_of(plan)), clock, places_of_points(plan))
    teach(lesson, presses, clock, pupil)
    return pupil
