"""Idle picture, soak, chords, stops, combination change, shoes and pistons."""

from __future__ import annotations

from dataclasses import replace

import pytest

from retrofit.proving.runs.results import Verdict, result_of
from retrofit.proving.runs.says import Say, Sound
from retrofit.proving.runs.shoe_sweep import sweep_figures
from retrofit.proving.runs.shoe_values import ShoeValues
from retrofit.proving.runs.steps import ChordTest, StepKind
from tests.proving.runs.players import SHORT, Timed, expected, keys, made_run, off, on, played, press, slow

FLUTE, REED = 20, 21
REED_FIRST = ((REED, True), (REED, False), (FLUTE, True), (FLUTE, False))
SECOND = 1_000_000


def stop(at_us: int, number: int, drawn: bool) -> Timed:
    """Return a stop's message of the console division: a controller, 127 for on and 0 for off."""
    return at_us, bytes((0xB0, number, 127 if drawn else 0))


def sweep(values: list[int], begin_us: int = SECOND) -> list[Timed]:
    """Return values of the swell shoe, 50 a second."""
    return [(begin_us + place * 20_000, bytes((0xB0, 11, value))) for place, value in enumerate(values)]


def test_a_quiet_console_has_an_empty_idle_picture() -> None:
    """Nothing on, nothing said: passed."""
    run = made_run("great", (StepKind.IDLE,))
    assert played(run).sounds() == [Sound.PASS]
    assert run.notebook.evidence("great").idle == frozenset()


def test_a_contact_that_is_on_at_rest_is_in_the_idle_picture() -> None:
    """A key whose on was heard and no off is a finding; so is nothing else."""
    run = made_run("great", (StepKind.IDLE,))
    played(run, [(1000, on(40))])
    assert run.notebook.evidence("great").idle == {"great.40"}
    assert [(f.subject, f.words) for f in result_of(run, "great").findings] == [
        ("great.40", "is on while nothing is touched")
    ]


def test_a_contact_that_is_on_at_rest_fails_though_it_plays() -> None:
    """A finding of the idle picture stands, whatever the key does in the run."""
    run = made_run("great", (StepKind.IDLE, StepKind.RUN, StepKind.ASKED))
    played(run, [(1000, on(40)), (12 * SECOND, off(40)), *slow(keys(), 14 * SECOND)])
    verdicts = {point.point: point.verdict for point in result_of(run, "great").points}
    assert run.notebook.passed("great.40")
    assert verdicts["great.40"] is Verdict.FAILED
    assert verdicts["great.41"] is Verdict.PASSED


def test_a_dead_key_that_is_on_at_rest_is_evidence_and_no_finding() -> None:
    """Nothing is expected of it; the picture shows it all the same."""
    run = made_run("great", (StepKind.IDLE,))
    played(run, [(1000, on(38))])
    assert run.notebook.evidence("great").idle == {"great.38"}
    assert not result_of(run, "great").failed


def test_a_player_who_begins_too_early_is_told_and_nobody_is_accused() -> None:
    """Different keys at every try are hands: the step is left for later, and passes when it comes back."""
    run = made_run("great", (StepKind.IDLE,))
    said = played(
        run, [timed for place, note in enumerate((36, 37, 40)) for timed in press(place * 5 * SECOND + SECOND, note)]
    )
    assert "left for later, for something is played" in said.text
    assert said.heard[-2].words == "all is off"
    assert not result_of(run, "great").failed


def test_a_contact_that_speaks_at_every_try_is_accused() -> None:
    """What moves whenever nothing is touched is no hand."""
    run = made_run("great", (StepKind.IDLE,))
    played(run, [timed for place in range(12) for timed in press(place * 2 * SECOND, 44)])
    assert [finding.subject for finding in result_of(run, "great").findings] == ["great.44"]


def test_a_silent_soak_passes_and_is_as_long_as_it_was_set() -> None:
    """The soak lasts what the limits say, and is told in parts."""
    run = made_run("great", (StepKind.SOAK,))
    said = played(run)
    assert run.notebook.soaked_us == SHORT.soak_us
    assert [say.words for say in said.heard if "parts" in say.words][-1] == "3 of 4 parts of the soak are over"
    assert not result_of(run, "great").failed


def test_anything_that_speaks_in_a_soak_is_a_finding_with_its_time() -> None:
    """One contact that speaks twice is one finding, with when it first spoke."""
    run = made_run("great", (StepKind.SOAK,))
    played(run, [*press(7 * SECOND, 41), *press(9 * SECOND, 41)])
    assert [(f.subject, f.words) for f in result_of(run, "great").findings] == [
        ("great.41", "spoke without a hand, first 7.0 s after the soak began")
    ]


def test_a_shoe_that_moves_in_a_soak_is_a_finding() -> None:
    """No event without a hand holds for shoes as well."""
    run = made_run("console", (StepKind.SOAK,))
    played(run, sweep([5, 6, 5], 2 * SECOND))
    assert [finding.subject for finding in run.notebook.findings] == ["shoes.swell"]


def test_a_point_known_as_dead_is_accused_of_nothing() -> None:
    """It may chatter at rest and in the soak: nothing is expected of it."""
    run = made_run("great", (StepKind.IDLE, StepKind.SOAK))
    played(run, [timed for place in range(20) for timed in press(place * SECOND, 38)])
    assert run.finished
    assert not result_of(run, "great").failed


CHORD = ChordTest(("great.36", "great.40", "great.44"), {frozenset({"great.48"}): ("great.36",)})


def test_a_clean_chord_passes_and_is_evidence() -> None:
    """All held, nothing beside it."""
    run = made_run("great", (StepKind.CHORDS, StepKind.RUN, StepKind.ASKED), chords=[CHORD])
    assert [step.kind for step in run.steps] == [StepKind.RUN, StepKind.ASKED, StepKind.CHORDS]
    only = made_run("great", (StepKind.CHORDS,), chords=[CHORD])
    played(only, press(SECOND, 36, 40, 44, held_us=2 * SECOND))
    assert only.notebook.evidence("great").chords[0].heard == set(CHORD.points)
    assert not result_of(only, "great").failed


def test_a_ghost_names_the_diode_that_explains_it() -> None:
    """What sounds beside the chord accuses the diode that the chord plan names for it."""
    run = made_run("great", (StepKind.CHORDS,), chords=[CHORD])
    said = played(run, press(SECOND, 36, 40, 44, 48, held_us=2 * SECOND))
    assert "chord 1 also gives great C3 (48): look at the diode of great C2 (36)" in said.text
    assert run.notebook.chord_tests[0].suspects == ("great.36",)
    assert result_of(run, "great").failed


def test_a_chord_let_go_too_early_does_not_count() -> None:
    """A tenth of a second is no chord; it is asked for again and counts when held."""
    run = made_run("great", (StepKind.CHORDS,), chords=[CHORD])
    played(run, [*press(SECOND, 36, 40, 44, held_us=100_000), *press(3 * SECOND, 36, 40, 44, held_us=SECOND)])
    assert len(run.notebook.chord_tests) == 1
    assert not result_of(run, "great").failed


def test_a_chord_let_go_too_early_and_not_held_again_is_no_evidence() -> None:
    """Whatever sounds afterwards is not part of it."""
    run = made_run("great", (StepKind.CHORDS,), chords=[CHORD])
    played(run, [*press(SECOND, 36, 40, 44, held_us=100_000), *press(3 * SECOND, 48)])
    assert run.notebook.chord_tests == []
    assert "never held whole" in run.notebook.findings[0].words


def test_a_chord_that_breaks_again_and_again_is_told_as_such() -> None:
    """All its keys were on, and one of them chatters: no key is said to be missing."""
    run = made_run("great", (StepKind.CHORDS,), chords=[CHORD])
    chatter = [timed for place in range(10) for timed in press(SECOND + place * 100_000, 44, held_us=80_000)]
    played(run, [*press(SECOND, 36, 40, held_us=2 * SECOND), *chatter])
    assert run.notebook.findings[0].words == (
        "chord 1 was never held whole: all were on, and not for 0.5 s without a break"
    )


def test_a_chord_with_a_key_that_was_not_heard_alone_is_left_out() -> None:
    """Nobody is asked to hold what cannot be held; the other chord is asked for."""
    chords = [CHORD, ChordTest(("great.41", "great.43"))]
    run = made_run("great", (StepKind.RUN, StepKind.ASKED, StepKind.CHORDS), chords=chords)
    said = played(run, slow(keys(40), SECOND))
    assert "chord 1 is left out: great E2 (40) not heard rightly alone" in said.text
    assert "chord 1 of 2: hold" not in said.text
    assert "chord 2 of 2: hold" in said.text


def test_a_chord_that_is_never_whole_is_a_finding_and_no_evidence() -> None:
    """Nothing is concluded from fingers that may not have been there."""
    run = made_run("great", (StepKind.CHORDS,), chords=[CHORD])
    played(run, press(SECOND, 36, 40, held_us=2 * SECOND))
    assert run.notebook.evidence("great").chords == ()
    assert "never held whole" in result_of(run, "great").findings[0].words


def test_stops_pass_one_by_one() -> None:
    """A stop that says on and off alone passes; each is asked for once at most."""
    run = made_run("console", (StepKind.STOPS,))
    said = played(
        run,
        [
            stop(SECOND, FLUTE, True),
            stop(2 * SECOND, FLUTE, False),
            stop(3 * SECOND, REED, True),
            stop(4 * SECOND, REED, False),
        ],
    )
    assert said.sounds() == [Sound.ASK, Sound.PASS, Sound.PASS]


def test_a_stop_that_never_says_off_is_asked_for_and_fails() -> None:
    """Half a stop is named for what it lacks; a silent one too."""
    run = made_run("console", (StepKind.STOPS,))
    said = played(run, [stop(SECOND, FLUTE, True)])
    assert "move Flute 8' on and off" in said.text
    points = {p.point: p for p in result_of(run, "console").points}
    assert points["stops.flute"].remark == "says on but never off"
    assert points["stops.reed"].remark == "silent"


def test_crossed_stops_do_not_pass_for_another_order() -> None:
    """The second stop first may be a hand or two crossed wires: asked for by name, the crossed one fails."""
    reed_first = [stop(SECOND * (place + 1), number, drawn) for place, (number, drawn) in enumerate(REED_FIRST)]
    sound, crossed = made_run("console", (StepKind.STOPS,)), made_run("console", (StepKind.STOPS,))

    def answer(say: Say, flute: int, reed: int) -> list[Timed]:
        wanted = {"move Flute 8' on and off": flute, "move Reed on and off": reed}.get(say.words)
        return [] if wanted is None else [stop(0, wanted, True), stop(SECOND, wanted, False)]

    played(sound, reed_first, lambda say: answer(say, FLUTE, REED))
    played(crossed, reed_first, lambda say: answer(say, REED, FLUTE))
    assert not result_of(sound, "console").failed
    assert result_of(crossed, "console").failed


def test_a_stop_that_is_asked_for_and_comes_passes() -> None:
    """The asking is answered, and the step ends."""

    def answer(say: Say) -> list[Timed]:
        wanted = {"move Flute 8' on and off": FLUTE, "move Reed on and off": REED}.get(say.words)
        return [] if wanted is None else [stop(0, wanted, True), stop(SECOND, wanted, False)]

    run = made_run("console", (StepKind.STOPS,))
    played(run, [], answer)
    assert {p.verdict for p in result_of(run, "console").points if p.group == "stops"} == {Verdict.PASSED}


@pytest.mark.parametrize(
    ("apart_us", "verdict"), [(0, Verdict.FAILED), (25_000, Verdict.FAILED), (40_000, Verdict.PASSED)]
)
def test_stops_that_move_together_fail(apart_us: int, verdict: Verdict) -> None:
    """Two stops within 30 ms are both named; two that a hand moves one after the other are not."""
    run = made_run("console", (StepKind.STOPS,))
    moves = [(SECOND, True), (2 * SECOND, False)]
    played(run, [stop(at + place * apart_us, n, drawn) for at, drawn in moves for place, n in enumerate((FLUTE, REED))])
    assert {p.verdict for p in result_of(run, "console").points if p.group == "stops"} == {verdict}


ALONE = [
    stop(SECOND, FLUTE, True),
    stop(2 * SECOND, FLUTE, False),
    stop(3 * SECOND, REED, True),
    stop(4 * SECOND, REED, False),
]


def test_all_stops_on_and_all_off() -> None:
    """Both at once on, then both off: passed; one that drops out is named."""
    kinds = (StepKind.STOPS, StepKind.ALL_STOPS)
    both = [stop(6 * SECOND, FLUTE, True), stop(7 * SECOND, REED, True)]
    run = made_run("console", kinds)
    assert "all off" in played(run, [*ALONE, *both, stop(8 * SECOND, FLUTE, False), stop(9 * SECOND, REED, False)]).text
    assert not run.notebook.findings
    sagging = made_run("console", kinds)
    played(sagging, [*ALONE, both[0]])
    assert "Reed did not go on with all the others" in sagging.notebook.findings[0].words


def test_a_key_that_speaks_in_a_combination_change_is_a_finding() -> None:
    """Stops may change, keys may not."""
    changes = [stop(SECOND, FLUTE, True), stop(SECOND, REED, True)]
    quiet, loud = made_run("console", (StepKind.COMBINATION,)), made_run("console", (StepKind.COMBINATION,))
    assert "2 stops changed" in played(quiet, changes).text
    assert not quiet.notebook.findings
    played(loud, [*changes, (SECOND + 1000, on(40)), (SECOND + 2000, off(40))])
    assert [finding.subject for finding in loud.notebook.findings] == ["great.40"]


def test_a_combination_change_that_nobody_makes_is_not_done() -> None:
    """Silence is no pass: the step comes back once and then counts as not done."""
    run = made_run("console", (StepKind.COMBINATION,))
    played(run)
    assert result_of(run, "console").not_done == ("console: combination change",)


def test_a_smooth_shoe_passes() -> None:
    """From end to end and back, one step at a time."""
    run = made_run("console", (StepKind.SHOES,))
    played(run, sweep([*range(128), *range(126, -1, -1)]))
    assert run.notebook.shoes["shoes.swell"].turns == 1
    assert {p.verdict for p in result_of(run, "console").points if p.group == "shoes"} == {Verdict.PASSED}


@pytest.mark.parametrize(
    ("values", "fault"),
    [
        ([*range(64), *range(62, -1, -1)], "spans 50% of its range"),
        ([v + (v % 2) * 3 for v in range(0, 120)], "noise"),
        ([0, 127, 0], "gave 2 values"),
        ([*range(128), *[127] * 200, *range(126, -1, -1), *[0] * 200], "stood still at an end"),
    ],
)
def test_a_faulty_shoe_is_told_with_figure_and_limit(values: list[int], fault: str) -> None:
    """Short span, noise, few values and a dead end are each named."""
    run = made_run("console", (StepKind.SHOES,))
    played(run, sweep(values))
    shoe = next(p for p in result_of(run, "console").points if p.group == "shoes")
    assert shoe.verdict is Verdict.FAILED
    assert fault in shoe.remark


def test_a_shoe_of_which_nothing_came_is_not_tried() -> None:
    """Silence may mean that nobody moved it."""
    run = made_run("console", (StepKind.SHOES,))
    played(run)
    shoe = next(p for p in result_of(run, "console").points if p.group == "shoes")
    assert shoe.verdict is Verdict.NOT_TRIED


def test_figures_of_a_sweep_by_hand() -> None:
    """Worked by hand: 0 0 5 3 127 has 4 values, two turns, a longest step of 124 and two messages at the first end."""
    figures = sweep_figures([0, 0, 5, 3, 127], 7)
    assert (figures.values, figures.turns, figures.span) == (4, 2, 1.0)
    assert figures.longest_step == 124 / 127
    assert figures.dead_end == 1 / 5


def test_the_halves_of_a_fine_value_are_joined() -> None:
    """Controller n then n + 32 (MIDI 1.0, Table III): 100 and 5 make 12,805, and the coarse half alone makes none."""
    coarse, fine = bytes((0xB0, 11)), bytes((0xB0, 43))
    values = ShoeValues(replace(expected(), shoes={coarse: (0, False), fine: (0, True)}))
    assert values.take(coarse + bytes((100,))) is None
    assert values.take(fine + bytes((5,))) == (expected().shoe_points[0], 100 * 128 + 5, 14)
    assert values.take(b"\xb0\x07\x01") is None


def test_pistons_pass_by_their_one_message() -> None:
    """A piston that sends a program change alone passes when it was heard."""
    run = made_run("console", (StepKind.PISTONS,))
    said = played(run, [(SECOND, b"\xc0\x05"), (3 * SECOND, b"\xc0\x06")])
    assert said.sounds() == [Sound.ASK, Sound.PASS, Sound.PASS]
