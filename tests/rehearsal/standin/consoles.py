"""Invented consoles for the stand-in, as plans: every way of reading, every debounce, every kind of message."""

from __future__ import annotations

from functools import cache

from retrofit.catalogue.load import load_catalogue
from retrofit.plan.build import plan_conversion
from retrofit.plan.model import ConversionPlan
from retrofit.survey.load import parse_job

HEAD = """
format = 1

[instrument]
name = "Invented for tests"
invented = true

[wanted]
power_on_wait_s = 0.05
%s

[[divisions]]
id = "great"
channel = 2

[[divisions]]
id = "swell"
channel = 3

[[divisions]]
id = "pedal"
channel = 4

[[divisions]]
id = "console"
channel = 1
"""

OURS = 'owner = "us", contact = "reed", contact_resistance = "0,2", cable_length = "1 m"'


def keys(
    name: str, count: int, interface: str = "chain", debounce: str = "", diodes: str = "", wanted: str = ""
) -> str:
    """Return a manual of so many keys from note 36."""
    wish = f", debounce = {{ {debounce} }}" if debounce else ""
    found = f', diodes = "{diodes}"' if diodes else ""
    return f"""
[[groups]]
kind = "manual"
id = "{name}"
division = "{name}"
compass = {{ count = {count} }}
wiring = {{ {OURS}{found} }}
wanted = {{ interface = "{interface}"{wish}{wanted} }}
"""


CONTROLS = f"""
[[groups]]
kind = "stops"
id = "stops"
division = "console"
wiring = {{ {OURS} }}
wanted = {{ message = "controller", first_number = 20, debounce = {{ family = "consecutive", press_ms = 8 }} }}
points = [{{ id = "flute", name = "Flute", footage = "8'" }}, {{ id = "reed", rest = "closed" }}, {{ id = "mixture" }}]

[[groups]]
kind = "pistons"
id = "pistons"
division = "console"
wiring = {{ {OURS} }}
wanted = {{ message = "program", first_number = 5 }}
points = [{{ id = "one" }}, {{ id = "two" }}, {{ id = "three" }}]

[[groups]]
kind = "roller"
id = "crescendo"
division = "console"
stages = 12
wiring = {{ {OURS} }}
message = {{ controller = 7 }}

[[groups]]
kind = "shoes"
id = "shoes"
division = "console"
wiring = {{ {OURS} }}
points = [{{ id = "swell", name = "Swell", sensor = "potentiometer", message = {{ controller = 11 }} }}]
"""

FAMILIES = (
    HEAD % 'panic = ["pistons.one", "pistons.two"]'
    + keys("great", 20, debounce='family = "first-edge", hold_ms = 5')
    + keys("swell", 18, debounce='family = "asymmetric", press_ms = 1, release_ms = 8')
    + keys("pedal", 12, "pins", debounce='family = "integrator", press_ms = 2, release_ms = 4')
    + CONTROLS
)
FRONT_ENDS = (
    HEAD % ""
    + keys("great", 20, "matrix", diodes="schottky")
    + keys("swell", 20, "multiplexer")
    + keys("pedal", 20, "expander")
)


@cache
def plan_of(text: str) -> ConversionPlan:
    """Return the plan of a job's text."""
    return plan_conversion(parse_job(text, "standin.toml"), load_catalogue())


@cache
def manual(interface: str, count: int = 61, diodes: str = "schottky") -> ConversionPlan:
    """Return the plan of one manual."""
    return plan_of(HEAD % "" + keys("great", count, interface, diodes=diodes))


def places(plan: ConversionPlan) -> dict[str, tuple[int, int]]:
    """Return the lane and the bit of each point that has one."""
    return {
        point: (lane.index, bit)
        for lane in plan.layout.lanes
        for bit, point in enumerate(lane.points)
        if point is not None
    }
