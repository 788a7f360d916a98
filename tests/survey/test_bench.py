"""Readings as typed at the bench, and what they are understood to mean."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import TypeAdapter

from retrofit.survey.bench import ReadingState, Volts, parse_reading, unknown
from retrofit.survey.problems import RefusedValueError

UNITS = ["V", "Ω", "A", "s", "F", "m", "mm²"]

UNDERSTOOD = [
    # Values of IEC 60062 (letter and digit code): R47, 4R7, 470R, 4K7, 47K, 1M0 stand for ohms.  From memory.
    ("4R7", "Ω", 4.7),
    ("470R", "Ω", 470.0),
    ("4K7", "Ω", 4700.0),
    ("47K", "Ω", 47_000.0),
    ("1M0", "Ω", 1_000_000.0),
    ("4n7", "F", 4.7e-9),
    ("4k7", "Ω", 4700.0),
    ("1M", "Ω", 1e6),
    ("1 M", "Ω", 1e6),
    ("5 mΩ", "Ω", 0.005),
    ("4.7 k\N{OHM SIGN}", "Ω", 4700.0),
    ("3,3 kohms", "Ω", 3300.0),
    ("12,4 V", "V", 12.4),
    ("12.4", "V", 12.4),
    ("-12", "V", -12.0),
    ("- 12 V", "V", -12.0),
    ("\N{MINUS SIGN}12,4", "V", -12.4),
    ("+15V", "V", 15.0),
    ("12 mV", "V", 0.012),
    ("4V7", "V", 4.7),
    ("4k7 V", "V", 4700.0),
    ("1.000", "V", 1.0),
    ("1,0000", "V", 1.0),
    ("0,470", "V", 0.47),
    ("0,02\N{NARROW NO-BREAK SPACE}V", "V", 0.02),
    ("12,4\N{THIN SPACE}V", "V", 12.4),
    ("12,4\N{NO-BREAK SPACE}mV", "V", 0.0124),
    ("１２．４Ｖ", "V", 12.4),
    ("2A5", "A", 2.5),
    ("500 mA", "A", 0.5),
    ("3,2 ms", "s", 0.0032),
    ("330 \N{MICRO SIGN}s", "s", 330e-6),
    ("330 \N{GREEK SMALL LETTER MU}s", "s", 330e-6),
    ("330 us", "s", 330e-6),
    ("4m7", "s", 0.0047),
    ("2.5", "m", 2.5),
    ("2.5 m", "m", 2.5),
    ("2.5 mm", "m", 0.0025),
    ("80 cm", "m", 0.8),
    ("0.22 mm2", "mm²", 0.22),
    ("0,22 mm²", "mm²", 0.22),
    ("1.5e-3", "s", 0.0015),
    (12, "V", 12.0),
    (0.5, "A", 0.5),
]

NOT_UNDERSTOOD = [
    ("k7", "Ω"),
    ("V", "V"),
    ("mV", "V"),
    ("12 A", "V"),
    ("4V7", "Ω"),
    ("4R7", "V"),
    ("4m7", "m"),
    ("12 c", "V"),
    ("12 cV", "V"),
    ("1,000", "V"),
    ("12,345 V", "V"),
    ("1.234,5", "V"),
    ("1 000", "Ω"),
    ("10²", "V"),
    ("½", "V"),
    ("12 2", "V"),
    ("4k7k", "Ω"),
    ("--12", "V"),
    ("ca. 12", "V"),
    (">20M", "Ω"),
    ("١٢", "V"),
    ("12m", "mm²"),
    ("nan", "V"),
    ("inf", "V"),
    ("9" * 400, "V"),
    ("1e999", "V"),
    (float("nan"), "V"),
    (float("inf"), "V"),
    (10**400, "V"),
    (16**5000, "V"),
    (True, "V"),
    (None, "V"),
    ([12], "V"),
]


@pytest.mark.parametrize(("text", "unit", "value"), UNDERSTOOD, ids=lambda part: ascii(part)[:20])
def test_a_value_is_understood_and_its_words_are_kept(text: object, unit: str, value: float) -> None:
    """The number is in the base unit, and the words stay beside it as typed."""
    reading = parse_reading(text, unit)

    assert reading.value == pytest.approx(value, rel=1e-12)
    assert (reading.state, reading.raw, reading.unit) == (ReadingState.VALUE, str(text), unit)


@pytest.mark.parametrize(("text", "unit"), NOT_UNDERSTOOD, ids=[str(n) for n in range(len(NOT_UNDERSTOOD))])
def test_words_that_could_mean_anything_are_refused(text: object, unit: str) -> None:
    """Nothing is guessed: the refusal says what was found and what is allowed."""
    with pytest.raises(RefusedValueError) as caught:
        parse_reading(text, unit)

    assert unit in caught.value.allowed
    assert caught.value.found.isprintable()


@pytest.mark.parametrize(
    ("text", "state"),
    [
        ("OL", "open"),
        ("o.l.", "open"),
        ("-OL", "open"),
        ("open", "open"),
        (" Wanders ", "wanders"),
        ("floating", "wanders"),
        ("unknown", "unknown"),
        ("", "unknown"),
        ("?", "unknown"),
        ("-", "unknown"),
    ],
)
def test_words_for_a_state_carry_no_number(text: str, state: str) -> None:
    """An open circuit, a wandering reading and an unread one are states and never arithmetic."""
    reading = parse_reading(text, "V")

    assert (reading.state, reading.value, reading.known) == (state, None, False)


@pytest.mark.parametrize("unit", [unit for unit in UNITS if unit != "V"])
@pytest.mark.parametrize("text", ["-1", "−0,5", -2, "-4k7"])
def test_only_volts_may_be_negative(text: object, unit: str) -> None:
    """Negative ohms, amps, seconds, farads, metres and areas cannot have been read."""
    with pytest.raises(RefusedValueError):
        parse_reading(text, unit)


PREFIXES = {"": 1.0, "p": 1e-12, "n": 1e-9, "u": 1e-6, "µ": 1e-6, "m": 1e-3, "k": 1e3, "K": 1e3, "M": 1e6}


@given(
    st.integers(0, 9999),
    st.text("0123456789", max_size=6),
    st.sampled_from(".,"),
    st.sampled_from(sorted(PREFIXES)),
    st.sampled_from(["", " ", "\N{THIN SPACE}", "\N{NO-BREAK SPACE}"]),
    st.sampled_from(["V", "Ω", "A", "s", "F"]),
)
def test_any_number_prefix_and_unit_multiply(
    whole: int, part: str, mark: str, prefix: str, gap: str, unit: str
) -> None:
    """Whatever the decimal mark and the gap, the value is the number times its prefix (SI prefixes)."""
    if mark == "," and len(part) == 3 and 1 <= whole <= 999:
        return  # might be thousands: refused, see above
    number = f"{whole}{mark}{part}" if part else f"{whole}"

    reading = parse_reading(f"{number}{gap}{prefix}{unit}", unit)

    assert reading.value == pytest.approx(float(number.replace(",", ".")) * PREFIXES[prefix], rel=1e-12)


@given(st.text(max_size=12), st.sampled_from(UNITS))
def test_any_text_is_a_reading_or_is_refused(text: str, unit: str) -> None:
    """No text raises anything else, and a value is always a finite number."""
    try:
        reading = parse_reading(text, unit)
    except RefusedValueError:
        return
    assert reading.raw == text
    assert reading.known == (reading.value is not None)
    assert reading.value is None or abs(reading.value) < 1e15


@given(st.floats(-1e14, 1e14))
def test_a_number_reads_back_from_its_own_words(number: float) -> None:
    """What is stored as words gives the same value again: nothing is lost between saving and loading."""
    reading = parse_reading(number, "V")

    assert parse_reading(reading.raw, "V").value == pytest.approx(number, rel=1e-12, abs=1e-300)


def test_a_reading_is_written_as_its_words() -> None:
    """In data a reading is the text that was typed."""
    volts = TypeAdapter(Volts)

    assert volts.dump_python(volts.validate_python("12,4 V")) == "12,4 V"
    assert str(unknown("V")) == "unknown"


@pytest.mark.parametrize("unit", UNITS)
def test_a_reading_in_one_unit_does_not_stand_for_another(unit: str) -> None:
    """The words carry their unit, and every unit is understood in its own field only."""
    others = {"V": "A", "Ω": "V", "A": "V", "s": "V", "F": "V", "m": "V", "mm²": "V"}
    parse_reading(f"1 {unit}", unit)

    with pytest.raises(RefusedValueError):
        parse_reading(f"1 {others[unit]}", unit)
