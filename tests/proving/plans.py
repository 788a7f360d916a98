"""A small invented console that sends every kind of message, as a plan."""

from __future__ import annotations

from functools import cache

from retrofit.catalogue.load import load_catalogue
from retrofit.plan.build import plan_conversion
from retrofit.plan.model import ConversionPlan
from retrofit.survey.load import parse_job

JOB = """
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

[[groups]]
kind = "manual"
id = "great"
division = "great"
compass = { count = 13 }
wiring = { owner = "us" }
points = [{ note = 38, condition = "dead" }, { note = 39, condition = "left-out" }]

[[groups]]
kind = "manual"
id = "swell"
division = "swell"
compass = { count = 13 }
wiring = { owner = "us" }

[[groups]]
kind = "stops"
id = "stops"
division = "console"
wiring = { owner = "us" }
wanted = { message = "controller", first_number = 20 }
points = [{ id = "flute", name = "Flute", footage = "8'" }, { id = "reed", name = "Reed" }]

[[groups]]
kind = "pistons"
id = "pistons"
division = "console"
wiring = { owner = "us" }
wanted = { message = "program", first_number = 5 }
points = [{ id = "one", name = "I" }, { id = "two", name = "II" }]

[[groups]]
kind = "shoes"
id = "shoes"
division = "console"
points = [{ id = "swell", name = "Swell", sensor = "potentiometer", message = { controller = 11 } }]
"""


@cache
def small_plan() -> ConversionPlan:
    """Return the plan of the small console."""
    return plan_conversion(parse_job(JOB, "small.toml"), load_catalogue())
