"""Invented consoles of any compass, read in any way, for the campaign."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from random import Random

from retrofit.catalogue.load import Catalogue, load_catalogue
from retrofit.plan.build import plan_conversion
from retrofit.plan.matrix_chords import group_chords
from retrofit.plan.model import ConversionPlan
from retrofit.proving.diagnosis.rig import Rig
from retrofit.proving.diagnosis.rig_of_plan import rig_of
from retrofit.survey.load import parse_job

HEAD = """
format = 1

[instrument]
name = "Invented for tests"
invented = true

[[divisions]]
id = "great"
channel = 2

[[divisions]]
id = "swell"
channel = 3

[[divisions]]
id = "console"
channel = 1
"""
STOPS = """
[[groups]]
kind = "stops"
id = "stops"
division = "console"
wiring = { owner = "us" }
wanted = { message = "controller", first_number = 20 }
points = [{ id = "flute", name = "Flute" }, { id = "reed", rest = "closed" }, { id = "mixture" }]
"""


@dataclass(frozen=True)
class Console:
    """A console to be proved: its plan, what a diagnosis knows of it, and the chords that its matrix is tested with."""

    words: str
    plan: ConversionPlan
    rig: Rig
    chords: tuple[frozenset[str], ...]


@lru_cache(maxsize=1)
def catalogue() -> Catalogue:
    """Return the catalogue."""
    return load_catalogue()


def keys(name: str, lowest: int, count: int, interface: str, diodes: str = "", wanted: str = "") -> str:
    """Return a manual of the job file."""
    found = f', diodes = "{diodes}"' if diodes else ""
    return f"""
[[groups]]
kind = "manual"
id = "{name}"
division = "{name}"
compass = {{ lowest = {lowest}, count = {count} }}
wiring = {{ owner = "us"{found} }}
wanted = {{ interface = "{interface}"{wanted} }}
"""


def console(words: str, text: str) -> Console:
    """Return the console of a job."""
    plan = plan_conversion(parse_job(HEAD + text, "campaign.toml"), catalogue())
    return Console(words, plan, rig_of(plan), _chords(plan))


def _chords(plan: ConversionPlan) -> tuple[frozenset[str], ...]:
    great = next(group for group in plan.job.groups if group.id == "great")
    if great.wanted.interface != "matrix" or great.wiring.diodes == "none":
        return ()
    found = group_chords(plan, catalogue(), "great", rings=True)
    chords = [*found.tests.chords, *(test.chord for test in found.tests.by_three_keys)]
    return tuple(frozenset(f"great.{key}" for key in chord.keys) for chord in chords)


def random_console(random: Random) -> Console:
    """Return a console whose first manual is of a compass and a way of reading that were not seen before."""
    interface = random.choice(("chain", "chain", "matrix", "matrix", "pins", "multiplexer", "expander"))
    most = 36 if interface == "pins" else 73
    count = random.randint(13, most)
    lowest = random.choice((24, 36, 36, 36, 41, 48))
    columns = random.randint(max(4, -(-count // 12)), 8)
    wanted = f", matrix_columns = {columns}" if interface == "matrix" else ""
    if interface == "matrix" and random.random() < 0.3:
        wanted += ', matrix_drive = "push-pull"'
    diodes = random.choice(("silicon", "schottky", "none")) if interface == "matrix" else ""
    if "push-pull" in wanted:
        diodes = "silicon"
    text = keys("great", lowest, count, interface, diodes, wanted)
    text += keys("swell", random.choice((36, 48)), random.randint(13, 61), "chain")
    text += STOPS if random.random() < 0.5 else ""
    return console(f"{interface}{wanted} {diodes} {count} keys from {lowest}".replace("  ", " "), text)
