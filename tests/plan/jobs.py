"""Small job files for the tests: a sound one, and one for every rule that makes that rule speak."""

from __future__ import annotations

from hashlib import sha256

from retrofit.catalogue.load import load_catalogue
from retrofit.plan.build import plan_conversion
from retrofit.plan.model import ConversionPlan
from retrofit.survey.job import Job
from retrofit.survey.load import parse_job

HEAD = """
format = 1
[instrument]
name = "invented test console"
"""

OURS = """
[groups.wiring]
owner = "us"
contact = "reed"
bounce = "0,6 ms"
bounce_strokes = 20
contact_resistance = "0,2"
cable_length = "1,0 m"
"""

ORGANS = """
[groups.wiring]
owner = "organ"
contact = "silver-leaf"
bounce = "2 ms"
bounce_strokes = 20
contact_resistance = "0,5"
cable_length = "1,0 m"
idle = { volts = "0,0 V" }
keyed = { volts = "12,4 V" }
"""

SOFT = ORGANS.replace('"0,0 V"', '"0,0 V", source = "470k"').replace('"12,4 V"', '"12,4 V", source = "470k"')
"""Lines behind a resistance that bears no load."""

WEAK_SUPPLY = """
[[supplies]]
id = "keying"
volts_rest = "12,9 V"
amps_rest = "0,1 A"
volts_full = "11,0 V"
amps_full = "0,3 A"
fuse = "0,4 A"
"""

DIVIDER = '[groups.wanted]\nsense = "divider"\n'

GREAT = """
[[divisions]]
id = "great"
"""


def keys(count: int = 13, extra: str = "") -> str:
    """Return the head of a manual with this many keys from note 36."""
    return f"""
[[groups]]
id = "great"
kind = "manual"
division = "great"
compass = {{ lowest = 36, count = {count} }}
{extra}
"""


def stops(points: str) -> str:
    """Return the head of a stop rail with these points."""
    return f"""
[[groups]]
id = "rail"
kind = "stops"
division = "great"
points = [{points}]
"""


STROBES = """carries_audio = "no"
[groups.wiring.strobes]
strobes = 4
returns = 4
neighbours_share = "strobe"
active = "high"
rest = "0,1 V"
active_volts = "12,0 V"
idle = "0,1 V"
keyed = "11,4 V"
source = "1k"
period = "1,6 ms"
width = "180 us"
lead = "0,2"
"""

LISTEN = '[groups.wanted]\ninterface = "listen"\n'

DRIVEN = '[groups.wanted]\ninterface = "matrix"\nmatrix_drive = "push-pull"\n'

CUT = """
[[operations]]
id = "feed-cut"
kind = "cut-wire"
subject = "great"
text = "cut the feed of the bus"
inverse = "join it again"
date = 2026-03-07
initials = "QT"
"""

SOUND = HEAD + GREAT + keys() + OURS

PRESERVED = HEAD + "[originals]\npreserved = true\n"

STEPS = (
    "mains-unplugged",
    "other-feeds-found",
    "proved-dead",
    "capacitors-discharged",
    "fuses-as-found",
    "console-steady",
    "licensed-person-asked",
)


def make_safe(
    earth: str = "joined", reading: str = "0,3", supply: str = "isolated", steps: tuple[str, ...] = STEPS
) -> str:
    """Return a make-safe record."""
    ticks = ", ".join(f'{{ step = "{step}", date = 2026-01-31, initials = "AB" }}' for step in steps)
    return (
        f'[make_safe]\nchassis_to_earth = "{earth}"\nearth_reading = "{reading}"\nsupply_kind = "{supply}"\n'
        f"ticks = [{ticks}]\n"
    )


def diode_readings(*rows: tuple[int, str, str, str]) -> str:
    """Return readings of a diode board for the end of a wiring table: key, pins and what the meter showed."""
    signed = 'date = 2026-03-07, initials = "QT"'
    tests = (f'{{ key = {k}, from_pin = "{a}", to_pin = "{b}", volts = "{v}", {signed} }}' for k, a, b, v in rows)
    return f"diode_readings = [{', '.join(tests)}]\n"


def shoes(*points: str, wanted: str = "") -> str:
    """Return a job of shoes that share wiring, each written as an inline table without its brackets."""
    group = '[[groups]]\nid = "shoes"\nkind = "shoes"\ndivision = "great"\n'
    return HEAD + wanted + GREAT + group + f"points = [{', '.join(f'{{ {point} }}' for point in points)}]\n" + OURS


POT = 'sensor = "potentiometer", closed_reading = 0.05, open_reading = 0.95'
FINE_POT = f"{POT}, noise_counts = 1, bits = 14"
LADDER = 'id = "swell", sensor = "ladder", ladder = {{ resistors = [{resistors}], {rest} }}'


def ladder(resistors: str = ", ".join(['"1k"'] * 12), rest: str = 'to_supply = "4k7", tolerance = 0.01') -> str:
    """Return a shoe of twelve contacts, each of which shorts its resistor."""
    return LADDER.format(resistors=resistors, rest=rest)


def remarks(count: int) -> str:
    """Return so many long notes of the instrument that hardly pack: hexadecimal digits of digests (FIPS 180-4)."""
    texts = ("".join(sha256(f"{note} {part}".encode()).hexdigest() for part in range(6)) for note in range(count))
    rows = (f'{{ date = 2026-03-07, initials = "QT", text = "{text}" }}' for text in texts)
    return f"notes = [{', '.join(rows)}]\n"


FIRING: dict[str, str] = {
    "memory-too-small": HEAD
    + '[wanted]\nboard = "atmega32u4"\nmidi_out = "usb"\n'
    + GREAT
    + "".join(keys(61).replace('id = "great"', f'id = "manual-{number}"', 1) + OURS for number in range(1, 7)),
    "description-too-large": HEAD
    + remarks(150)
    + '[wanted]\nboard = "atmega32u4"\nmidi_out = "usb"\n'
    + GREAT
    + keys()
    + OURS,
    "shoe-not-so-fine": shoes(f'id = "swell", {POT}, noise_counts = 2, bits = 14'),
    "shoe-noisy": shoes(f'id = "swell", {POT}, noise = "40 mV"'),
    "shoe-without-fine-half": shoes(f'id = "swell", {FINE_POT}, message = {{ controller = 80 }}'),
    "shoes-crowd-the-wire": shoes(*(f'id = "{name}", {FINE_POT}' for name in ("swell", "choir", "solo"))),
    "shoe-ends-late": shoes(f'id = "swell", {POT}', wanted="[wanted]\nshoe_interval_ms = 50\n"),
    "ladder-not-read": shoes(ladder(rest="tolerance = 0.01")),
    "ladder-stages-overlap": shoes(ladder(rest='to_supply = "4k7", tolerance = 0.05')),
    "ladder-source-too-weak": shoes(ladder('"100k", "100k"', 'to_supply = "47k", tolerance = 0.01')),
    "make-safe-not-done": PRESERVED + GREAT + keys() + ORGANS + DIVIDER,
    "pull-up-on-organ-line": PRESERVED + GREAT + keys() + ORGANS + '[groups.wanted]\nsense = "pull-up"\n',
    "bus-would-be-cut": PRESERVED
    + GREAT
    + keys()
    + OURS
    + 'commons = [{ name = "bus" }]\n[groups.wanted]\ninterface = "matrix"\n',
    "usb-without-barrier": PRESERVED + '[wanted]\nmidi_out = "usb"\n' + GREAT + keys() + ORGANS + DIVIDER,
    "audio-contact-sensed": PRESERVED + GREAT + keys() + ORGANS + "carries_audio = true\n" + DIVIDER,
    "bus-must-be-split": HEAD
    + GREAT
    + keys()
    + OURS
    + 'commons = [{ name = "bus" }]\n[groups.wanted]\ninterface = "matrix"\n',
    "late-note-off": PRESERVED + GREAT + keys() + ORGANS + "decay_capacitor = true\n" + DIVIDER,
    "service-lead-joins-earth": PRESERVED + GREAT + keys() + ORGANS + DIVIDER,
    "step-cannot-be-undone": PRESERVED + GREAT + keys() + ORGANS + DIVIDER + CUT,
    "rehearsal-of-nothing": SOUND + '[rehearsals]\n"run-cable.graet" = { date = 2026-03-07, initials = "QT" }\n',
    "load-too-great": HEAD + GREAT + keys() + SOFT + DIVIDER,
    "back-feed-when-off": HEAD + GREAT + keys() + SOFT + DIVIDER,
    "supply-loaded": HEAD
    + GREAT
    + WEAK_SUPPLY
    + keys()
    + ORGANS.replace('"12,4 V"', '"12,4 V", source = "1"')
    + 'commons = [{ name = "bus", supply = "keying" }]\n[groups.wanted]\nsense = "optocoupler"\n',
    "returns-would-be-joined": HEAD
    + GREAT
    + '[[supplies]]\nid = "one"\nchassis = "return"\n[[supplies]]\nid = "other"\nchassis = "live"\n'
    + keys()
    + ORGANS
    + 'commons = [{ name = "bus", supply = "one" }]\n'
    + DIVIDER
    + keys().replace('id = "great"', 'id = "choir"', 1)
    + ORGANS
    + 'commons = [{ name = "bus", supply = "other" }]\n'
    + DIVIDER,
    "no-circuit-permitted": HEAD + GREAT + keys() + ORGANS + "carries_audio = true\n",
    "sense-wish-refused": HEAD + GREAT + keys() + ORGANS + '[groups.wanted]\nsense = "offset-divider"\n',
    "sense-margin-short": HEAD
    + GREAT
    + keys()
    + ORGANS.replace('"0,0 V"', '"7,0 V", source = "100"').replace('"12,4 V"', '"12,4 V", source = "100"')
    + '[groups.wanted]\nsense = "optocoupler"\n',
    "sense-figure-unknown": HEAD + GREAT + keys() + ORGANS + DIVIDER,
    "tap-after-coupler": HEAD + GREAT + keys() + ORGANS + DIVIDER + "[groups.wiring.dead]\ncoupler_before_tap = true\n",
    "tap-on-switched-bus": HEAD + GREAT + keys() + ORGANS + DIVIDER + "[groups.wiring.dead]\nswitched_by_stop = true\n",
    "tap-not-asked": HEAD + GREAT + keys() + ORGANS + DIVIDER,
    "owner-unknown": HEAD + GREAT + keys(),
    "sense-not-chosen": HEAD + GREAT + keys() + '[groups.wiring]\nowner = "organ"\n',
    "polarity-unknown": HEAD + GREAT + keys() + '[groups.wiring]\nowner = "organ"\n' + DIVIDER,
    "polarity-contradicts-readings": HEAD + GREAT + keys() + ORGANS + DIVIDER + "keyed_reads_high = false\n",
    "supply-not-read": PRESERVED + GREAT + '[[supplies]]\nid = "keying"\n' + keys() + ORGANS + DIVIDER,
    "line-not-read": HEAD
    + GREAT
    + keys()
    + '[groups.wiring]\nowner = "organ"\n'
    + DIVIDER
    + "keyed_reads_high = true\n",
    "contact-faulty": HEAD + GREAT + keys(extra='points = [{ note = 36, condition = "dead" }]') + OURS,
    "diode-readings-contradict": HEAD
    + GREAT
    + keys(2)
    + OURS
    + diode_readings((36, "a", "x", "0,56 V"), (36, "x", "a", "0,55 V")),
    "diode-board-recognised": HEAD
    + GREAT
    + keys(2)
    + OURS
    + diode_readings((36, "a", "x", "0,56 V"), (37, "b", "x", "0,55 V")),
    "bounce-not-measured": HEAD + GREAT + keys() + '[groups.wiring]\nowner = "us"\n',
    "cable-not-measured": HEAD + GREAT + keys() + '[groups.wiring]\nowner = "us"\n',
    "shoe-ends-not-read": HEAD
    + GREAT
    + '[[groups]]\nid = "shoes"\nkind = "shoes"\ndivision = "great"\n'
    + 'points = [{ id = "swell", sensor = "potentiometer" }]\n'
    + OURS,
    "contact-kind-unknown": HEAD + GREAT + keys() + '[groups.wiring]\nowner = "us"\ncontact = "cheese"\n',
    "pins-are-pulled-up": HEAD + GREAT + keys() + OURS + '[groups.wanted]\ninterface = "pins"\nsense = "pull-down"\n',
    "level-margin-short": HEAD
    + GREAT
    + keys()
    + OURS.replace('contact_resistance = "0,2"', 'contact_resistance = "22k"'),
    "rail-is-not-the-boards": HEAD + '[wanted]\nboard = "rp2040"\nrail_volts = "5 V"\n' + GREAT + keys() + OURS,
    "pins-not-made-for-five-volts": HEAD + '[wanted]\nboard = "rp2040"\n' + GREAT + keys() + OURS,
    "board-unknown": HEAD + '[wanted]\nboard = "abacus"\n' + GREAT + keys() + OURS,
    "midi-out-not-on-board": HEAD + '[wanted]\nmidi_out = "usb"\n' + GREAT + keys() + OURS,
    "address-unreadable": SOUND + '[addresses]\n"great.36" = "under the bench"\n',
    "message-unreadable": SOUND + '[messages]\n"great.36" = "something loud"\n',
    "message-differs-from-recorded": HEAD
    + '[[divisions]]\nid = "great"\nprogress = "wired"\n'
    + stops('{ id = "a", message = { controller = 21 } }, { id = "b" }')
    + OURS
    + '[messages]\n"rail.a" = "controller 20 on channel 1"\n"rail.b" = "controller 22 on channel 1"\n',
    "wired-point-without-message": HEAD + '[[divisions]]\nid = "great"\nprogress = "wired"\n' + keys() + OURS,
    "message-would-change": SOUND + '[messages]\n"great.36" = "note 36 on channel 4"\n',
    "wired-point-without-address": HEAD
    + '[[divisions]]\nid = "great"\nprogress = "wired"\n'
    + keys()
    + OURS
    + '[addresses]\n"great.36" = "chain register 0 bit 0"\n',
    "register-gap": HEAD
    + '[[divisions]]\nid = "great"\nprogress = "wired"\n'
    + keys()
    + OURS
    + '[addresses]\n"great.36" = "chain register 33 bit 0"\n',
    "cable-length-doubtful": HEAD + GREAT + keys() + OURS.replace('"1,0 m"', '"250 m"'),
    "contact-resistance-doubtful": HEAD + GREAT + keys() + OURS.replace('resistance = "0,2"', 'resistance = "OL"'),
    "bounce-is-zero": HEAD + GREAT + keys() + OURS.replace('"0,6 ms"', '"0 ms"'),
    "line-is-driven": HEAD + GREAT + keys() + OURS + 'idle = { volts = "0,0 V" }\nkeyed = { volts = "12,4 V" }\n',
    "voltage-not-low": HEAD + GREAT + keys() + ORGANS.replace('"12,4 V"', '"110 V"') + DIVIDER,
    "stepped-shoes-share-group": HEAD
    + GREAT
    + '[[groups]]\nid = "shoes"\nkind = "shoes"\ndivision = "great"\n'
    + 'points = [{ id = "a", sensor = "steps", stages = 8 }, { id = "b", sensor = "steps", stages = 8 }]\n'
    + OURS,
    "matrix-drive-refused": HEAD + GREAT + keys() + OURS + DRIVEN,
    "matrix-drives-differ": HEAD
    + '[[divisions]]\nid = "great"\nprogress = "wired"\n'
    + keys(1)
    + OURS
    + 'diodes = "schottky"\n'
    + DRIVEN
    + keys(1).replace('id = "great"', 'id = "choir"', 1)
    + OURS
    + '[groups.wanted]\ninterface = "matrix"\n[addresses]\n'
    + '"great.36" = "matrix 1 row 0 column 0"\n"choir.36" = "matrix 1 row 1 column 0"\n',
    "strobe-reading-missing": HEAD + GREAT + keys() + ORGANS + LISTEN,
    "strobe-too-short": HEAD + GREAT + keys() + ORGANS + STROBES.replace('"180 us"', '"30 us"') + LISTEN,
    "strobe-not-readable": HEAD + GREAT + keys() + ORGANS + STROBES.replace('"12,0 V"', '"1,5 V"') + LISTEN,
    "second-scanner": HEAD + GREAT + keys() + ORGANS + STROBES,
    "listening-to-nothing": HEAD + GREAT + keys() + OURS + STROBES + LISTEN,
    "scanners-differ": HEAD
    + GREAT
    + keys()
    + ORGANS
    + STROBES
    + LISTEN
    + keys().replace('id = "great"', 'id = "choir"', 1)
    + ORGANS
    + STROBES.replace("1,6 ms", "2,5 ms")
    + LISTEN,
    "expander-bus-too-long": HEAD
    + GREAT
    + keys()
    + OURS.replace('cable_length = "1,0 m"', 'cable_length = "8 m"')
    + '[groups.wanted]\ninterface = "expander"\n',
    "no-address-left": HEAD + GREAT + keys(100) + OURS + '[groups.wanted]\ninterface = "pins"\n',
    "wired-address-in-conflict": HEAD
    + '[[divisions]]\nid = "great"\nprogress = "wired"\n'
    + keys()
    + OURS
    + '[addresses]\n"great.36" = "chain register 0 bit 0"\n"great.37" = "chain register 0 bit 0"\n',
    "address-would-move": SOUND + '[addresses]\n"great.36" = "chain register 9 bit 0"\n',
    "message-sent-twice": HEAD
    + GREAT
    + stops('{ id = "a", message = { controller = 20 } }, { id = "b", message = { controller = 20 } }')
    + OURS,
    "panic-pistons-unfit": HEAD + '[wanted]\npanic = ["rail.a", "great.36"]\n' + GREAT + keys() + OURS,
    "midi-input-not-drawn": HEAD + "[wanted]\nlisten_to_stops = true\n" + GREAT + keys() + OURS,
    "message-out-of-range": HEAD + GREAT + keys().replace("lowest = 36", "lowest = 120") + OURS,
    "controller-is-mode-message": HEAD + GREAT + stops('{ id = "a", message = { controller = 123 } }') + OURS,
    "controller-reserved": HEAD + GREAT + stops('{ id = "a", message = { controller = 64 } }') + OURS,
    "percussion-channel": HEAD + GREAT + "channel = 10\n" + keys() + OURS,
    "message-wish-unused": HEAD + GREAT + keys() + OURS + "[groups.wanted]\nfirst_number = 3\n",
    "continued-on-next-channel": HEAD + GREAT + stops(", ".join(f'{{ id = "s{n}" }}' for n in range(110))) + OURS,
    "key-too-late": HEAD
    + GREAT
    + keys()
    + OURS
    + '[groups.wanted.debounce]\nfamily = "consecutive"\npress_ms = 15\nrelease_ms = 15\n',
    "debounce-does-not-fit": HEAD
    + GREAT
    + keys()
    + OURS
    + '[groups.wanted.debounce]\nfamily = "first-edge"\nhold_ms = 0.3\n',
    "scan-too-slow": HEAD
    + GREAT
    + "".join(
        f'[[groups]]\nid = "m{n}"\nkind = "manual"\ndivision = "great"\ncompass = {{ lowest = 0, count = 128 }}\n'
        + OURS.replace('cable_length = "1,0 m"', 'cable_length = "80 m"')
        for n in range(15)
    ),
}
"""A job for each rule, in which that rule has something to say."""


def job_of(text: str) -> Job:
    """Return the job that a text describes."""
    return parse_job(text, "test.toml")


def plan_of(text: str) -> ConversionPlan:
    """Return the plan of the job that a text describes."""
    return plan_conversion(job_of(text), load_catalogue())
