"""The stand-in console as a whole: what is heard of hands, bounce, dirt and interference."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from retrofit.catalogue.load import load_catalogue
from retrofit.plan.model import ConversionPlan
from retrofit.rehearsal.bounce import RecordedBounce
from retrofit.rehearsal.standin.board.table import board_table
from retrofit.rehearsal.standin.console import StandIn
from retrofit.rehearsal.standin.from_plan import wiring_of
from retrofit.rehearsal.standin.hands import KeyMove, Move, ShoeMove, Spike
from retrofit.rehearsal.standin.manners import CLUMSY, EXACT, QUICK
from retrofit.rehearsal.standin.player import Player, control_points, shoe_points
from retrofit.rehearsal.standin.stand_ins import Setup, bounces_of, stand_in
from tests.rehearsal.standin.consoles import FAMILIES, FRONT_ENDS, HEAD, keys, manual, places, plan_of

Sent = list[tuple[int, bytes]]
SECOND_US = 1_000_000
STARTED_US = SECOND_US
"""By then the board has said what it says at power-on."""
PLAN = plan_of(FAMILIES)


def made(plan: ConversionPlan, *faults: str, seed: int = 0, bounce_us: float | None = None) -> StandIn:
    """Return a stand-in that has been started, what it said so far taken away."""
    found = stand_in(plan, load_catalogue(), Setup(faults, seed, bounce_us))
    found.advance(STARTED_US)
    return found


def held(console: StandIn, point: str, held_us: int, rest_us: int = SECOND_US) -> Sent:
    """Press a point for a time and return what is heard until a while after."""
    now_us = console.now_us
    console.do([KeyMove(now_us, point, True), KeyMove(now_us + held_us, point, False)])
    return console.advance(now_us + held_us + rest_us)


def message_of(plan: ConversionPlan, point: str) -> tuple[bytes, bytes]:
    """Return what a point sends on and off by the plan."""
    found = next(one.message for one in plan.points if one.point.id == point)
    assert found is not None
    return found.on, found.off


@pytest.mark.parametrize("text", [FAMILIES, FRONT_ENDS])
def test_every_key_is_heard_as_the_plan_says(text: str) -> None:
    """A run over all keys, with bounce, gives each key's two messages once, in order."""
    plan = plan_of(text)
    for group in ("great", "swell", "pedal"):
        console = made(plan, bounce_us=3000)
        points = control_points(plan, group)
        console.do(Player(Random(1), EXACT).run(points, STARTED_US))
        heard = [message for _, message in console.advance(60 * SECOND_US)]
        assert heard == [message for point in points for message in message_of(plan, point)]
        assert console.resting


def test_a_stop_stays_and_a_control_closed_at_rest_is_on_when_open() -> None:
    """A stop that is put on says so once and again when it goes off; so does one whose contact opens."""
    for point in ("stops.flute", "stops.reed"):
        heard = held(made(PLAN), point, SECOND_US)
        assert [message for _, message in heard] == list(message_of(PLAN, point))


@given(cuts=st.lists(st.integers(STARTED_US, 9 * SECOND_US), max_size=12), seed=st.integers(0, 3))
@settings(max_examples=25, deadline=None, derandomize=True)
def test_time_may_pass_in_any_pieces(cuts: list[int], seed: int) -> None:
    """Asked for in one piece or in many, the messages and their times are the same."""
    moves = music(seed)
    whole, pieces = (
        made(PLAN, "hum swell 100", "dirty contact great C2", seed=seed, bounce_us=2000),
        made(PLAN, "hum swell 100", "dirty contact great C2", seed=seed, bounce_us=2000),
    )
    whole.do(moves)
    pieces.do(moves)
    heard = [message for cut in sorted(cuts) for message in pieces.advance(cut)]
    assert whole.advance(9 * SECOND_US) == heard + pieces.advance(9 * SECOND_US)


def music(seed: int) -> list[Move]:
    """Return some clumsy playing, stops and a shoe, all at once."""
    player = Player(Random(seed), CLUMSY)
    moves = [
        move for group in ("great", "swell", "pedal") for move in player.run(control_points(PLAN, group), STARTED_US)
    ]
    moves += player.change(control_points(PLAN, "stops"), 2 * SECOND_US, on=True)
    moves += player.sweep("shoes.swell", STARTED_US, 4.0)
    return moves


def test_the_seed_decides() -> None:
    """Same seed, same messages at the same times; another seed bounces otherwise."""
    runs = []
    for seed in (1, 1, 2):
        console = made(PLAN, seed=seed, bounce_us=6000)
        console.do(music(0))
        runs.append(console.advance(9 * SECOND_US))
    assert runs[0] == runs[1]
    assert runs[0] != runs[2]


def test_a_press_is_heard_within_what_the_plan_promises() -> None:
    """A clean press on an idle wire is heard within the latency of the plan, to the end of its last byte."""
    for group in ("great", "swell", "pedal"):
        promised = next(one.press_latency_us_max for one in PLAN.groups if one.id == group)
        for phase in range(0, 1000, 37):
            console = StandIn(PLAN, wiring_of(PLAN, load_catalogue()), {}, 0)
            console.advance(STARTED_US + phase)
            pressed_us = console.now_us
            (time_us, _), *_ = held(console, control_points(PLAN, group)[0], SECOND_US)
            assert time_us - pressed_us <= promised


def test_bounce_longer_than_the_debounce_strikes_twice() -> None:
    """A first-edge hold-off of 5 ms hears an open contact 7 ms after the touch; one of 3 ms it never hears."""
    for edges_us, count in (((6000.0, 8000.0), 4), ((2000.0, 3000.0), 2)):
        bounce = RecordedBounce(closing_us=(edges_us,))
        wiring = wiring_of(PLAN, load_catalogue())
        console = StandIn(PLAN, wiring, {"great.40": bounce}, 0)
        console.advance(STARTED_US)
        assert len(held(console, "great.40", SECOND_US)) == count


def test_a_decay_capacitor_releases_late() -> None:
    """The off comes as much later as the line stays keyed; a press in between goes on as one."""
    off_us = [held(made(PLAN, *faults), "swell.40", SECOND_US)[-1][0] for faults in ((), ("late release swell 300",))]
    assert 299_000 <= off_us[1] - off_us[0] <= 301_000
    console = made(PLAN, "late release swell.40 300")
    presses = zip((1000, 1200, 1400, 1600), (True, False) * 2, strict=True)
    console.do([KeyMove(at_ms * 1000, "swell.40", down) for at_ms, down in presses])
    (_, on), (released_us, off) = console.advance(4 * SECOND_US)
    assert (on, off) == message_of(PLAN, "swell.40")
    assert 1_900_000 <= released_us <= 1_920_000


def test_a_message_is_given_when_its_last_byte_has_arrived() -> None:
    """Three bytes at 31,250 baud take 960 µs (MIDI 1.0); before their end nothing is given out."""
    whole = made(PLAN)
    whole.do([KeyMove(STARTED_US, "great.40", True)])
    ((arrived_us, _),) = whole.advance(2 * SECOND_US)
    console = made(PLAN)
    console.do([KeyMove(STARTED_US, "great.40", True)])
    assert console.advance(arrived_us) == []
    assert [time for time, _ in console.advance(arrived_us + 1)] == [arrived_us]


@pytest.mark.parametrize(("hz", "period_us"), [(50, 20_000), (100, 10_000)])
def test_hum_chatters_at_its_own_rate(hz: int, period_us: int) -> None:
    """Where the hold-off is shorter than the half wave, ons follow each other at the rate of the hum."""
    ons = [time for time, message in held(made(PLAN, f"hum great {hz}"), "great.40", SECOND_US) if message[2]]
    assert len(ons) > 40
    assert all(abs(later - sooner - period_us) <= 700 for sooner, later in pairwise(ons[1:]))


def test_dirt_and_a_loose_wire_break_a_held_note() -> None:
    """Both are heard more than once in a held press; a sound contact is not."""
    for faults, many in (((), False), (("dirty contact great E2",), True), (("loose wire great E2",), True)):
        heard = held(made(PLAN, *faults), "great.40", 5 * SECOND_US)
        assert (len(heard) > 4) == many


def test_a_loose_return_takes_the_whole_group_along() -> None:
    """A bus whose only return comes and goes lets all held keys go and come at the same moments."""
    plan = plan_of(HEAD % "" + keys("great", 8))
    console = made(plan, "loose wire J1.1")
    console.do(Player(Random(1), EXACT).chord(["great.36", "great.40", "great.43"], STARTED_US, 8000))
    console.advance(STARTED_US + 300_000)
    heard = [(time, message[1]) for time, message in console.advance(8 * SECOND_US)]
    breaks = [heard[n : n + 3] for n in range(0, len(heard), 3)]
    assert len(breaks) >= 10
    for three in breaks:
        assert [note for _, note in three] == [36, 40, 43]
        assert three[-1][0] - three[0][0] <= 2 * 960


def test_a_board_without_a_supply_says_nothing() -> None:
    """Not even at power-on."""
    plan = plan_of(HEAD % "" + keys("great", 20, wanted=', sense = "sensor"'))
    console = stand_in(plan, load_catalogue(), Setup(("turn connector J1",)))
    console.do([KeyMove(STARTED_US, "great.40", True)])
    assert console.advance(3 * SECOND_US) == []


def test_interference_is_kept_out_by_counting_and_let_in_by_the_first_edge() -> None:
    """Half a millisecond of nothing but noise: samples in a row do not hear it, the first edge does."""
    console = made(PLAN)
    console.do([Spike(STARTED_US + 1000, "swell.40", 400), Spike(STARTED_US + 100_000, "great.40", 400)])
    assert {message[0] & 0x0F for _, message in console.advance(3 * SECOND_US)} == {1}


def test_a_spike_does_not_let_go_of_what_is_held() -> None:
    """A contact that is held stays closed."""
    console = made(PLAN)
    console.do([Spike(STARTED_US + 500_000, "great.40", 300)])
    assert len(held(console, "great.40", SECOND_US)) == 2


def test_a_shoe_goes_from_end_to_end_at_its_interval() -> None:
    """A slow sweep reaches both ends, and no two values come within the interval of the plan."""
    console = made(PLAN)
    assert shoe_points(PLAN) == ["shoes.swell"]
    console.do(Player(Random(1)).sweep("shoes.swell", STARTED_US, 6.0))
    heard = console.advance(9 * SECOND_US)
    values = [message[2] for _, message in heard]
    assert {message[:2] for _, message in heard} == {bytes((0xB0, 11))}
    assert (min(values), max(values), values[-1]) == (0, 127, 0)
    assert len(values) > 200
    least_us = 1000 * PLAN.job.wanted.shoe_interval_ms
    assert all(later - sooner >= least_us - 320 for (sooner, _), (later, _) in pairwise(heard))


def test_a_shoe_that_is_thrown_keeps_to_its_interval() -> None:
    """Moved every 2 ms, a shoe is heard once in its interval, and its last place is heard."""
    console = made(PLAN)
    console.do([ShoeMove(STARTED_US + 2000 * step, "shoes.swell", step / 50) for step in range(51)])
    heard = console.advance(2 * SECOND_US)
    least_us = 1000 * PLAN.job.wanted.shoe_interval_ms
    assert all(later - sooner >= least_us - 320 for (sooner, _), (later, _) in pairwise(heard))
    assert heard[-1][1][2] == 127


def test_what_the_board_has_no_place_for_is_left_alone() -> None:
    """A shoe or a point that is not there moves nothing."""
    console = made(PLAN)
    console.do([ShoeMove(STARTED_US, "none", 1.0), KeyMove(STARTED_US, "none", True), Spike(STARTED_US, "none", 10)])
    assert console.advance(2 * SECOND_US) == []


def test_a_move_of_the_past_is_made_at_once() -> None:
    """Whoever answers late is not lost."""
    console = made(PLAN)
    console.do([KeyMove(0, "great.40", True)])
    assert [message for _, message in console.advance(2 * SECOND_US)] == [message_of(PLAN, "great.40")[0]]


def test_bounce_is_that_of_the_survey() -> None:
    """Contacts of which nothing is known have none, unless something is assumed."""
    known = bounces_of(PLAN)
    assert set(known) == {p.point.id for p in PLAN.points if p.point.group != "shoes"}
    assert bounces_of(plan_of(HEAD % "" + keys("great", 3).replace('"reed"', '"unknown"'))) == {}
    assert len(bounces_of(plan_of(HEAD % "" + keys("great", 3).replace('"reed"', '"unknown"')), 5.0)) == 3


def test_quick_playing_keeps_every_stroke() -> None:
    """Quick and exact, with the bounce of the survey, no stroke is lost and none doubled."""
    plan = manual("chain")
    console = made(plan)
    player = Player(Random(3), QUICK)
    points = control_points(plan, "great")
    moves = player.run([Random(4).choice(points) for _ in range(1)] + points, STARTED_US)
    console.do(moves)
    heard = console.advance(60 * SECOND_US)
    assert len(heard) == len(moves)
    assert set(places(plan)) == set(points)


def test_a_plan_that_cannot_be_sampled_makes_no_board() -> None:
    """Without a sampling period there is nothing to play on."""
    with pytest.raises(ValueError, match="without a sampling period found"):
        board_table(replace(PLAN, tick_us=0))


def test_by_usb_messages_are_not_paced() -> None:
    """By USB alone a chord is heard at one moment; by the wire its notes follow each other."""
    usb = plan_of(HEAD % 'board = "atmega32u4"\nmidi_out = "usb"' + keys("great", 20))
    spreads = []
    for plan in (usb, PLAN):
        console = StandIn(plan, wiring_of(plan, load_catalogue()), {}, 0)
        console.advance(STARTED_US)
        console.do([KeyMove(STARTED_US, f"great.{note}", True) for note in range(36, 46)])
        times = [time for time, _ in console.advance(2 * SECOND_US)]
        spreads.append(times[-1] - times[0])
    assert spreads[0] <= 500
    assert spreads[1] >= 9 * 640
