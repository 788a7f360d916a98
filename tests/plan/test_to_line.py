"""From readings and conclusions to the line that circuits are worked out for: spans, and None for what is unknown."""

from __future__ import annotations

from math import log, pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from retrofit.circuits.line.classes import LineClass
from retrofit.circuits.line.classify import Confidence
from retrofit.circuits.result import Span
from retrofit.circuits.sense.line import Line
from retrofit.plan.last_digit import last_digit
from retrofit.plan.line_evidence import assumed, line_evidence, lines_read
from retrofit.plan.to_line import KICK_VOLTS, classified, to_line
from retrofit.survey.bench import parse_reading
from retrofit.survey.contacts import GroupBase
from retrofit.survey.job import Job
from retrofit.survey.load import parse_job

HEAD = """
format = 1
[instrument]
name = "invented test console"
[[divisions]]
id = "great"
[[supplies]]
id = "keying"
volts_rest = "12,90 V"
volts_typical = "12,40 V"
volts_full = "11,60 V"
polarity = "positive"
[[groups]]
id = "great"
kind = "manual"
division = "great"
compass = { lowest = 36, count = 13 }
[groups.wiring]
"""
COMMON = 'commons = [{ name = "bus", supply = "keying" }]\n'


def reading(state: str, volts: str, load: str = "meter", ac: str = "1 mV", line: str = "great.36") -> str:
    """Return one reading as TOML."""
    ac_volts = f'ac_volts = "{ac}", ' if load == "meter" else ""
    words = f'line = "{line}", state = "{state}", load = "{load}", volts = "{volts}", {ac_volts}'
    return f'{{ {words}date = 2026-03-07, initials = "QT" }}'


def job_with(wiring: str, *readings: str) -> Job:
    """Return a job with one manual of this wiring and these readings."""
    return parse_job(f"{HEAD}{wiring}\nreadings = [{', '.join(readings)}]\n", "job.toml")


def group_of(job: Job) -> GroupBase:
    """Return the manual."""
    return job.groups[0]


def line_with(wiring: str, *readings: str) -> Line:
    """Return the line of such a job."""
    job = job_with(wiring, *readings)
    return to_line(job, group_of(job), 13)


PLAIN = (reading("idle", "0,010 V"), reading("keyed", "12,20 V"))


def around(volts: float, error: float) -> object:
    """Return what a span of these ends compares equal to."""
    return pytest.approx((volts - error, volts + error))


def ends(span: Span | None) -> tuple[float, float]:
    """Return the ends of a span that must be known."""
    assert span is not None
    return span.least, span.greatest


def test_what_was_not_read_stays_unknown() -> None:
    """An empty survey gives a line of Nones and no class."""
    job = job_with('owner = "organ"')
    line = to_line(job, group_of(job), 13)

    assert line == Line(None, None, lines_at_once=13)
    assert classified(job, group_of(job)) is None


def test_readings_become_volts_with_the_meters_error() -> None:
    """1 % and two of the last written digit, either way: 12.20 V is 12.06 to 12.34 V."""
    line = line_with("", *PLAIN)

    assert ends(line.keyed_volts) == around(12.20, 0.122 + 0.02)
    assert ends(line.idle_volts) == around(0.010, 0.0001 + 0.002)


def test_a_conclusion_goes_before_the_readings() -> None:
    """What somebody wrote under keyed stands, and what he left open comes from the readings."""
    line = line_with('keyed = { volts = "11,0 V", source = "1k" }', *PLAIN)

    assert ends(line.keyed_volts) == around(11.0, 0.11 + 0.2)
    assert ends(line.keyed_ohms) == around(1e3, 10)
    assert ends(line.idle_volts) == around(0.010, 0.0021)


def test_volts_that_come_from_the_supply_move_with_it() -> None:
    """Keyed volts near the supply's cover everything from all on to rest; the idle state does not."""
    line = line_with(COMMON, *PLAIN)

    assert ends(line.keyed_volts) == pytest.approx((11.60 - 0.116 - 0.02, 12.90 + 0.129 + 0.02))
    assert ends(line.idle_volts) == around(0.010, 0.0021)


def test_volts_far_from_the_supply_do_not_move_with_it() -> None:
    """A gate that is keyed to 5 V does not follow a supply of 12 V."""
    line = line_with(COMMON, reading("idle", "0,0 V"), reading("keyed", "5,00 V"))

    assert ends(line.keyed_volts) == around(5.0, 0.07)


def test_loads_give_the_source_resistance() -> None:
    """10 V behind 100 kΩ show 9.901 V on 10 MΩ, 9.009 V with 1 MΩ and 4.975 V with 100 kΩ (three dividers)."""
    keyed = [reading("keyed", v, load) for v, load in (("9.901", "meter"), ("9.009", "1M"), ("4.975", "100k"))]
    line = line_with("", reading("idle", "0,0 V"), *keyed)

    assert line.keyed_ohms is not None
    assert line.keyed_ohms.least < 100e3 < line.keyed_ohms.greatest
    assert line.keyed_ohms.greatest / line.keyed_ohms.least < 1.15
    assert line.idle_ohms is None


def test_several_lines_widen_each_other() -> None:
    """Line 36 with 12.2 V and line 48 with 11.4 V are one span of a group."""
    line = line_with("", *PLAIN, reading("idle", "0,0", line="great.48"), reading("keyed", "11,40", line="great.48"))

    assert ends(line.keyed_volts) == pytest.approx((11.40 - 0.114 - 0.02, 12.20 + 0.122 + 0.02))


@pytest.mark.parametrize(
    "readings",
    [
        (reading("idle", "12,20 V"), reading("keyed", "12,21 V")),
        (reading("idle", "0,0 V"), reading("keyed", "12,2 mV")),
        (reading("idle", "0,0 V"), reading("keyed", "-12,2 V")),
        (reading("idle", "OL"), reading("keyed", "12,2 V")),
        (reading("keyed", "5,00 V"), reading("keyed", "9,00 V", "1M")),
    ],
)
def test_impossible_readings_never_become_a_line(readings: tuple[str, ...]) -> None:
    """Equal states, millivolts for volts, exchanged clips, overload and a load that raises: nothing comes of them."""
    job = job_with(COMMON, *readings)
    found = classified(job, group_of(job))
    line = to_line(job, group_of(job), 13)

    assert found is not None
    assert found.confidence is Confidence.CONTRADICTED
    assert (line.idle_volts, line.keyed_volts, line.keyed_ohms) == (None, None, None)


def test_a_magnet_draws_its_current_and_kicks() -> None:
    """12.06 V over 121.2 Ω is the least current; a winding kicks to the greatest that magnets do."""
    line = line_with('dead = { line_to_return = "120" }', *PLAIN)

    assert line.keyed_amps == pytest.approx((12.20 - 0.142) / (120 * 1.01))
    assert line.kick_volts == KICK_VOLTS


def test_a_magnet_to_the_supply_kicks_too() -> None:
    """On a line that is keyed to return the load hangs on the supply."""
    line = line_with('dead = { line_to_supply = "90" }', reading("idle", "12,2 V"), reading("keyed", "0,01 V"))

    assert line.kick_volts == KICK_VOLTS
    assert line.keyed_amps == pytest.approx((12.2 - 0.122 - 0.2) / (90 * 1.01))


def test_the_input_of_a_keyer_does_not_kick_and_keeps_its_current_to_itself() -> None:
    """4.7 kΩ read dead are no winding; the current is not known from them."""
    line = line_with('dead = { line_to_return = "4k7" }', *PLAIN)

    assert (line.kick_volts, line.keyed_amps) == (0.0, None)


def test_a_short_is_no_winding() -> None:
    """0 Ω to return is a slip of the clips: neither a current nor a kick comes of it."""
    line = line_with('dead = { line_to_return = "0,0" }', *PLAIN)

    assert (line.kick_volts, line.keyed_amps) == (None, None)


def test_a_slow_fall_gives_the_capacitor() -> None:
    """Over 100 kΩ with the meter on, 1.07 s to a tenth is 4.7 µF: t = R·C·ln 10 (arithmetic of the exponential)."""
    drain = 1 / (1 / 100e3 + 1 / 10e6)
    fall_s = drain * 4.7e-6 * log(10)
    line = line_with(f'dead = {{ line_to_return = "100k", fall_time = "{fall_s:.4f}" }}', *PLAIN)

    assert line.decay is not None
    assert line.decay.farads.least < 4.7e-6 < line.decay.farads.greatest
    assert sum(ends(line.decay.farads)) / 2 == pytest.approx(4.7e-6, rel=1e-3)
    assert ends(line.decay.ohms) == around(100e3, 1e3)


@pytest.mark.parametrize(
    "wiring",
    [
        'dead = { line_to_return = "100k", fall_time = "5 ms" }',
        'dead = { fall_time = "900 ms" }',
        'decay_capacitor = "no"\ndead = { line_to_return = "100k", fall_time = "900 ms" }',
    ],
)
def test_no_capacitor_is_made_up(wiring: str) -> None:
    """A fast fall, an unknown resistance, or the surveyor's own no."""
    assert line_with(wiring, *PLAIN).decay is None


def test_half_waves_give_the_peak() -> None:
    """DC 10.80 V beside 5.2 V AC is a full-wave mean, 2/π of the peak; without a frequency the longer gap counts."""
    ripple = line_with("", reading("idle", "0,0"), reading("keyed", "10,80 V", ac="5,2 V")).ripple

    assert ripple is not None
    assert ends(ripple.peak_volts) == around(10.80 * pi / 2, (0.108 + 0.02) * pi / 2)
    assert (ripple.full_wave, ripple.mains_hz) == (True, 50.0)


@pytest.mark.parametrize(
    ("ac", "frequency", "full", "mains"), [("5,2 V", "120", True, 60.0), ("9,0 V", "60", False, 60.0)]
)
def test_half_waves_know_their_mains(ac: str, frequency: str, full: bool, mains: float) -> None:
    """120 Hz of full waves and 60 Hz of half waves are both 60 Hz mains (a half-wave ripple factor is 1.211)."""
    wiring = f'dead = {{ frequency = "{frequency}" }}'
    ripple = line_with(
        wiring, reading("idle", "0,0"), reading("keyed", "7,0 V" if not full else "10,8 V", ac=ac)
    ).ripple

    assert ripple is not None
    assert (ripple.full_wave, ripple.mains_hz) == (full, mains)


def test_audio_in_the_readings_outranks_a_wrong_no() -> None:
    """80 mV of AC without DC is audio, whatever was answered before."""
    audio = (reading("idle", "0,000 V", ac="0 mV"), reading("keyed", "0,000 V", ac="80 mV"))
    wiring = 'carries_audio = "no"\ndead = { line_to_return = "47k", frequency = "440" }'
    job = job_with(wiring, *audio)
    found = classified(job, group_of(job))

    assert found is not None
    assert found.named is LineClass.AUDIO
    assert to_line(job, group_of(job), 13).carries_audio is True


def test_our_own_lines_have_no_volts_of_the_organs() -> None:
    """On a line of ours only the contact counts."""
    line = line_with('owner = "us"\ncontact_resistance = "2,0"', *PLAIN)

    assert line.ours
    assert line.keyed_volts is None
    assert ends(line.keyed_ohms) == around(2.0, 0.02)


def test_the_meters_input_is_assumed_aloud() -> None:
    """Without a word on the meter its 10 MΩ are said to be assumed; with one it counts."""
    job, other = job_with("", *PLAIN), job_with('meter_input = "1M"', *PLAIN)

    assert "10 MΩ" in assumed(group_of(job).wiring)[0]
    assert assumed(group_of(other).wiring) == ()
    assert line_evidence(other, group_of(other), "great.36").meter_ohms == 1e6


def test_the_line_that_was_read_most_comes_first() -> None:
    """Two readings of one line go before one of another."""
    assert lines_read(group_of(job_with("", reading("idle", "0", line="T 1"), *PLAIN))) == ("great.36", "T 1")


@pytest.mark.parametrize(
    ("words", "digit"),
    [("12,4 V", 0.1), ("12.40", 0.01), ("12 V", 1.0), ("330 mV", 1e-3), ("0,000 V", 1e-3), ("-3,25", 0.01), ("0", 1.0)],
)
def test_the_last_digit_is_what_was_written(words: str, digit: float) -> None:
    """The more digits were written down, the smaller the error."""
    assert last_digit(parse_reading(words, "V")) == pytest.approx(digit)


@pytest.mark.parametrize(("words", "digit"), [("1e1", 0.1), ("4V7", 0.01)])
def test_a_spelling_that_hides_its_digits_is_taken_for_three(words: str, digit: float) -> None:
    """Powers of ten and a letter for the point say nothing of the display."""
    assert last_digit(parse_reading(words, "V")) == pytest.approx(digit)


def test_words_have_no_last_digit() -> None:
    """An overload is no number."""
    with pytest.raises(ValueError, match="no digits"):
        last_digit(parse_reading("OL", "V"))


@given(st.decimals(-30, 30, places=3), st.integers(0, 3))
def test_the_true_volts_are_within_what_a_line_is_given(volts: object, places: int) -> None:
    """Rounding to the digits that are written never moves the truth out of the span."""
    written = f"{float(str(volts)):.{places}f}"
    job = job_with("", reading("idle", "0,0"), reading("keyed", written))
    span = to_line(job, group_of(job), 1).keyed_volts

    if span is not None:
        assert span.least <= float(str(volts)) <= span.greatest
