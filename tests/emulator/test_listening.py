"""A keyboard that the organ scans by itself, listened to from its job file to the emulated board."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path
from random import Random

import pytest

from retrofit.survey.load import parse_job
from tests.emulator.demos import Console, Spoil, console
from tests.emulator.harness import CYCLES_PER_US, Scanner, Scenario, Seen, run
from tests.emulator.midi_stream import decode
from tests.emulator.playing import Performance, clean_strokes, last_points, play_everything, verdict
from tests.emulator.proof import Fault, Verdict

pytestmark = pytest.mark.emulator

SCANNED = Path(__file__).parents[1] / "plan" / "awkward" / "scanned_keyboard.toml"
TWO_PORTS = (("strobes = 8", "strobes = 6"), ("returns = 8", "returns = 11"), ('"strobe"', '"return"'))
LOW_STROBES = (
    ('active = "high"', 'active = "low"'),
    ('rest = "0,1 V"', 'rest = "12,0 V"'),
    ('active_volts = "12,0 V"', 'active_volts = "0,1 V"'),
    ('idle = "0,1 V"', 'idle = "11,4 V"'),
    ('keyed = "11,4 V"', 'keyed = "0,1 V"'),
)

TOO_EARLY = Spoil("listen.c", "        port_wait_us(LISTEN_SETTLE_US);\n", "")
NEXT_STROBE = Spoil(
    "listen.c",
    "keep(strobe_number(active), levels);",
    "keep((uint8_t)((strobe_number(active) + 1) % LISTEN_STROBES), levels);",
)
FEEDING = Spoil("board.c", "(uint8_t)~listening_bits(port);", "(uint8_t)(0xFF + 0 * listening_bits(port));")
TRUSTING = Spoil("listen.c", "if (is_one && strobes_active() == active) {", "if (is_one) {")


@cache
def scanned(changes: tuple[tuple[str, str], ...] = (), spoils: tuple[Spoil, ...] = ()) -> Console:
    """Return the invented console with some of its readings exchanged and some of its firmware broken."""
    text = SCANNED.read_text(encoding="utf-8")
    for old, new in changes:
        assert text.count(old) == 1, f"{old!r} is there {text.count(old)} times"
        text = text.replace(old, new)
    job = parse_job(text, SCANNED.name)
    return console(job.model_copy(update={"wanted": job.wanted.model_copy(update={"power_on_wait_s": 0.1})}), spoils)


def scanner_of(scenario: Scenario) -> Scanner:
    """Return the scanner of a scenario."""
    assert scenario.scanner is not None
    return scenario.scanner


def performed(played_on: Console, played: Performance, **scanner: object) -> tuple[Seen, Verdict]:
    """Run what was played beside the organ's scanner, changed as asked, and judge what was heard."""
    scenario = played_on.stage.scenario(played_on.image.hex, played.end_us / 1000 + 150, played.events)
    changed: Scanner = replace(scanner_of(scenario), **scanner)  # type: ignore[arg-type]  # fields by name
    seen = run(replace(scenario, scanner=changed))
    return seen, verdict(played_on, played, seen)


@pytest.mark.parametrize(
    "changes", [(), TWO_PORTS, LOW_STROBES], ids=["eight by eight", "six by eleven, by returns", "active low"]
)
def test_no_stroke_is_lost_or_invented(changes: tuple[tuple[str, str], ...]) -> None:
    """Every key, pressed and released with bounce while the scanner goes its own way, is heard once and in time."""
    played_on = scanned(changes)
    seen, found = performed(played_on, play_everything(played_on, Random(7)))
    assert found.sound, found.report()
    assert found.changes == found.messages == 2 * 61
    assert seen.problems == {}
    assert seen.scanner["strobes"] > 1000


def test_the_worst_press_is_near_its_prediction() -> None:
    """Strokes on an idle wire at all phases of both clocks: never later than predicted, and at least 80 % of it."""
    played_on = scanned()
    _, found = performed(played_on, clean_strokes(played_on, Random(2), last_points(played_on.plan), 120))
    assert found.sound, found.report()
    (group,) = played_on.plan.groups
    worst_us = max(found.latencies["great"].press_us)
    assert 0.8 * group.press_latency_us_max <= worst_us <= group.press_latency_us_max


def test_the_latest_check_lies_within_the_prediction() -> None:
    """From the edge of a strobe to the check behind its reading no more passes than the plan allows for."""
    played_on = scanned()
    seen, _ = performed(played_on, play_everything(played_on, Random(4)))
    judged = next(j for j in played_on.plan.sensing[0].ranked[0].judged if "strobe" in j.criterion)
    assert judged.result is not None
    allowed_us = float(judged.result.corner.partition("up to ")[2].partition(" ")[0])
    layout = played_on.plan.layout.listener
    assert layout is not None
    assert seen.scanner["latest_check"] / CYCLES_PER_US - layout.settle_us <= allowed_us


@pytest.mark.parametrize("spoil", [TOO_EARLY, NEXT_STROBE], ids=["reads too early", "takes it for the next strobe"])
def test_broken_firmware_fails_the_proof(spoil: Spoil) -> None:
    """Firmware that reads before the returns have settled, or counts the strobes wrongly, does not pass."""
    broken = scanned(spoils=(spoil,))
    seen, found = performed(broken, play_everything(broken, Random(7)))
    assert not found.sound
    assert Fault.MISSING in {violation.fault for violation in found.violations} or seen.problems


def test_pull_ups_on_the_organs_lines_are_noticed() -> None:
    """Firmware that pulls every pin up at the start, those of the organ too, is reported at once."""
    seen, _ = performed(scanned(spoils=(FEEDING,)), play_everything(scanned(), Random(7)))
    assert any("feeds lines of the organ" in words for words in seen.problems)


def extra_strobes(played_on: Console, count: int, long_us: float) -> tuple[tuple[float, int, float], ...]:
    """Return strobes out of turn at moments that know nothing of the others."""
    rng = Random(11)
    begins = sorted(rng.uniform(played_on.listening_us, played_on.listening_us + 400_000) for _ in range(count))
    return tuple((begin * CYCLES_PER_US, rng.randrange(8), long_us * CYCLES_PER_US) for begin in begins)


def held_key(played_on: Console) -> Performance:
    """Press one key and hold it."""
    played = Performance(end_us=played_on.listening_us + 500_000)
    played.events += played_on.stage.events("great.40", [(played_on.listening_us + 50_000, True)])
    return played


def heard_behind(seen: Seen, played_on: Console) -> list[bytes]:
    """Return the messages behind the start."""
    start = played_on.listening_us * CYCLES_PER_US
    return [message.data for message in decode(seen.midi).messages if message.begins > start]


def messages_of(played_on: Console, point: str) -> tuple[bytes, bytes]:
    """Return what a point sends when it goes on and off."""
    message = next(each.message for each in played_on.plan.points if each.point.id == point)
    assert message is not None
    return message.on, message.off


@pytest.mark.parametrize("long_us", [0.5, 6, 40])
def test_strobes_out_of_turn_invent_nothing(long_us: float) -> None:
    """Two strobes at once, and glitches that are over before they are read, neither break a held note nor make one."""
    played_on = scanned()
    seen, _ = performed(played_on, held_key(played_on), extra=extra_strobes(played_on, 60, long_us))
    assert heard_behind(seen, played_on) == [messages_of(played_on, "great.40")[0]]


def test_firmware_that_trusts_a_strobe_without_looking_again_is_noticed() -> None:
    """Without the check behind the reading glitches give a held key's return to other strobes, or take it away."""
    broken = scanned(spoils=(TRUSTING,))
    seen, _ = performed(broken, held_key(broken), extra=extra_strobes(broken, 400, 6), width_cycles=16 * 40)
    assert heard_behind(seen, broken) != [messages_of(broken, "great.40")[0]] or seen.problems


def test_an_organ_that_is_switched_off_lets_no_note_hang() -> None:
    """With the key still held the note ends within two windows of silence, and is back when the organ is."""
    played_on = scanned()
    layout = played_on.plan.layout.listener
    assert layout is not None
    off_us = played_on.listening_us + 120_000
    on_us = off_us + 2 * layout.silent_us + 60_000
    spans = ((off_us * CYCLES_PER_US, on_us * CYCLES_PER_US),)
    seen, _ = performed(played_on, held_key(played_on), off=spans)
    on, off = messages_of(played_on, "great.40")
    assert heard_behind(seen, played_on) == [on, off, on]
    begins = [message.begins / CYCLES_PER_US for message in decode(seen.midi).messages if message.data == off]
    (group,) = played_on.plan.groups
    assert max(begins) <= off_us + 2 * layout.silent_us + group.release_latency_us_max


def test_two_keyboards_share_the_strobes_of_one_scanner() -> None:
    """Two groups with returns of their own are told apart, strobe by strobe."""
    text = SCANNED.read_text(encoding="utf-8").replace("count = 61", "count = 37")
    head, _, group = text.partition("[[groups]]")
    second = group.replace('id = "great"', 'id = "choir"', 1).replace('division = "great"', 'division = "choir"')
    whole = f'{head}[[divisions]]\nid = "choir"\nchannel = 2\n\n[[groups]]{group}\n[[groups]]{second}'
    job = parse_job(whole, "two.toml")
    played_on = console(job.model_copy(update={"wanted": job.wanted.model_copy(update={"power_on_wait_s": 0.1})}))
    seen, found = performed(played_on, play_everything(played_on, Random(5)))
    assert found.sound, found.report()
    assert found.messages == 4 * 37
    assert seen.problems == {}
    assert _ports(played_on) == ("L", "C")


def _ports(played_on: Console) -> Sequence[str]:
    layout = played_on.plan.layout.listener
    return () if layout is None else layout.return_ports
