"""The controller as it is emulated: converter, transmitter, timers, marks, stack and resets."""

from __future__ import annotations

from itertools import pairwise

import pytest

from tests.emulator.harness import cycles
from tests.emulator.programs import play

pytestmark = pytest.mark.emulator

CONVERT = """
static void convert_start(void) { ADMUX = 0x40; ADCSRA = 0x87; }
static uint8_t convert(uint8_t channel) {
    ADMUX = 0x40 | (channel & 7); ADCSRB = channel & 8; ADCSRA |= _BV(ADSC);
    while (ADCSRA & _BV(ADSC)) {}
    return ADC >> 2;
}
"""


def test_the_first_conversion_after_a_change_of_channel_is_stale() -> None:
    """The hold capacitor still carries the channel before; the second reading is true, on channels above 7 as well."""
    seen = play(
        "send_start(); convert_start(); send(convert(1)); send(convert(9)); send(convert(9));",
        functions=CONVERT,
        converters={1: 400, 9: 1023},
    )
    assert seen.sent == bytes((100, 100, 255))
    assert seen.conversions == 3
    assert seen.problems == {}


def test_a_conversion_takes_thirteen_converter_clocks() -> None:
    """At 125 kHz one conversion lasts 104 µs (ATmega2560 data sheet, converter timing: 13 clocks, the first 25)."""
    seen = play("convert_start(); convert(0); GPIOR0 = 1; convert(0); GPIOR0 = 2;", functions=CONVERT, keep_marks=True)
    (first, _), (second, _) = seen.marks
    assert second - first == pytest.approx(13 * 128, abs=40)


@pytest.mark.parametrize(
    ("start", "words"),
    [
        ("ADMUX = 0xC0; ADCSRA = 0x87;", "reference"),
        ("ADMUX = 0x40; ADCSRA = 0x84;", "clock"),
        ("PORTF = 0x08; ADMUX = 0x43; ADCSRA = 0x87;", "channel 3: its pin is pulled up or driven"),
        ("DDRK = 0x04; ADMUX = 0x42; ADCSRB = 0x08; ADCSRA = 0x87;", "channel 10: its pin is pulled up or driven"),
    ],
)
def test_a_converter_that_would_read_badly_is_reported(start: str, words: str) -> None:
    """Another reference than the supply, a clock above 200 kHz, and a pin that is no plain input are named."""
    seen = play(f"{start} ADCSRA |= _BV(ADSC); while (ADCSRA & _BV(ADSC)) {{}}")
    assert any(words in problem for problem in seen.problems)


def test_bytes_leave_at_midi_speed_back_to_back() -> None:
    """Ten bits at 31,250 baud are 320 µs, 5120 cycles (IEC 63035); a waiting byte follows at once."""
    seen = play("send_start(); send(0x90); send(0x3C); send(0x64);")
    starts = [cycle for cycle, _ in seen.midi]
    assert seen.sent == b"\x90\x3c\x64"
    assert [later - sooner for sooner, later in pairwise(starts)] == [5120, 5120]
    assert seen.baud == 31250


def test_the_data_register_interrupt_feeds_the_wire() -> None:
    """The interrupt stands while the data register is empty and stops when it is switched off."""
    seen = play(
        "send_start(); UCSR1B |= _BV(UDRIE1); sei();",
        functions="ISR(USART1_UDRE_vect) { static uint8_t n; UDR1 = n; if (++n == 5) UCSR1B &= ~_BV(UDRIE1); }",
    )
    assert seen.sent == bytes(range(5))


@pytest.mark.parametrize(
    ("flaw", "words"),
    [
        ("UBRR1 = 30; send(1);", "baud rate is 32258"),
        ("UCSR1C = 0x0E; send(1);", "not 8N1"),
        ("UCSR1C = 0x26; send(1);", "not 8N1"),
        ("UCSR1B = 0; UDR1 = 1;", "transmitter is off"),
        ("UDR1 = 1; UDR1 = 2; UDR1 = 3;", "still waits"),
    ],
)
def test_a_transmitter_set_up_wrongly_is_reported(flaw: str, words: str) -> None:
    """Speed off by more than 1 %, two stop bits, parity, a transmitter switched off and overwritten bytes are named."""
    seen = play(f"send_start(); {flaw}")
    assert any(words in problem for problem in seen.problems)


TICK = "OCR1A = 3999; TCCR1A = 0; TCCR1B = 0x09; while (!(TIFR1 & 2)) {} TIFR1 = 2;"


def test_marks_are_summed_by_the_runs_that_a_scan_reads() -> None:
    """Scans of one kind are gathered, with the time of each run; a scan after a change of a contact is not quiet."""
    seen = play(
        f"for (uint8_t n = 0; n < 20; n++) {{ {TICK} GPIOR0 = 0xFF; GPIOR0 = 1; _delay_us(10);"
        "if (n & 1) { GPIOR0 = 2; _delay_us(20); } GPIOR0 = 0; }",
        ms=8,
    )
    assert set(seen.scans["quiet"]) == {"1", "1 2"}
    both = seen.scans["quiet"]["1 2"]
    assert both["total"]["count"] == 10
    assert both["runs"][0]["mean"] == pytest.approx(160, abs=12)
    assert both["runs"][1]["mean"] == pytest.approx(320, abs=12)
    assert seen.scans["interval"]["mean"] == pytest.approx(4000, abs=20)


def test_a_timer_compare_matches_in_exact_cycles() -> None:
    """Timer 1 cleared on compare every 4000 cycles gives marks 4000 cycles apart, but for the polling loop."""
    seen = play(
        "OCR1A = 3999; TCCR1B = 0x09; for (;;) { while (!(TIFR1 & 2)) {} TIFR1 = 2; GPIOR0 = 1; }", keep_marks=True
    )
    at = [cycle for cycle, _ in seen.marks]
    assert len(at) == 39
    assert all(abs((later - at[0]) - 4000 * turn) <= 8 for turn, later in enumerate(at))


@pytest.mark.parametrize(
    ("start", "flag", "period"),
    [
        ("OCR1A = 999; TCCR1B = 0x0A;", "TIFR1, 2", 8000),
        ("OCR1B = 100; OCR1A = 1999; TCCR1B = 0x09;", "TIFR1, 4", 2000),
        ("ICR1 = 2999; TCCR1A = 2; TCCR1B = 0x19;", "TIFR1, 1", 3000),
        ("TCCR0A = 3; TCCR0B = 3;", "TIFR0, 1", 256 * 64),
        ("OCR0A = 249; TCCR0A = 2; TCCR0B = 2;", "TIFR0, 2", 2000),
        ("TCCR5B = 1;", "TIFR5, 1", 65536),
    ],
)
def test_timers_raise_their_flags_in_time(start: str, flag: str, period: int) -> None:
    """Compare and overflow flags come once per period of the mode (ATmega2560 data sheet, waveform modes)."""
    register, mask = flag.split(",")
    seen = play(
        f"{start} for (;;) {{ while (!({register} & {mask})) {{}} {register} = {mask}; GPIOR0 = 1; }}",
        keep_marks=True,
        ms=20,
    )
    at = [cycle for cycle, _ in seen.marks]
    assert len(at) == pytest.approx(cycles(ms=20) // period, abs=1)
    assert all(abs((later - at[0]) - period * turn) <= 10 for turn, later in enumerate(at))
    assert seen.problems == {}


def test_a_timer_interrupt_comes_in_time() -> None:
    """The overflow interrupt of timer 0, set up as the stock core does, comes every 1024 µs."""
    seen = play(
        "TCCR0A = 3; TCCR0B = 3; TIMSK0 = 1; sei();",
        functions="ISR(TIMER0_OVF_vect) { GPIOR0 = 1; }",
        keep_marks=True,
        ms=12,
    )
    at = [cycle for cycle, _ in seen.marks]
    assert len(at) == 11
    assert all(abs(later - sooner - 16384) <= 8 for sooner, later in pairwise(at))


@pytest.mark.parametrize(
    ("use", "why"),
    [("(void)TIFR3;", "flags are read"), ("(void)TCNT3;", "count is read"), ("TIMSK3 = 1;", "interrupts are enabled")],
)
def test_a_timer_in_a_mode_that_is_not_modelled_is_reported(use: str, why: str) -> None:
    """A timer that counts up and down may run as long as nothing asks it."""
    running = "TCCR3A = 1; TCCR3B = 3;"
    assert play(running).problems == {}
    assert [why in problem for problem in play(f"{running} {use}").problems] == [True]


def test_the_stack_depth_is_measured() -> None:
    """Ten nested calls with a few bytes each pull the lowest stack pointer down by at least what the frames hold."""
    shallow = play("GPIOR0 = 1;")
    deep = play(
        "GPIOR0 = 1; dive(10);",
        functions="static void __attribute__((noinline)) dive(uint8_t n) { volatile uint8_t a[20]; a[0] = n;"
        " if (n) dive(n - 1); a[1] = 1; }",
    )
    assert 0x2100 < shallow.lowest_stack <= 0x21FF
    assert 10 * 20 < shallow.lowest_stack - deep.lowest_stack < 10 * 40


def test_memory_survives_a_reset_and_its_cause_is_told() -> None:
    """After an external reset the program begins anew, memory keeps its content, and MCUSR names the cause."""
    seen = play(
        "uint8_t cause = MCUSR; MCUSR = 0; send_start(); send(cause); send(life == 0x55); life = 0x55;",
        functions='static uint8_t life __attribute__((section(".noinit")));',
        resets=((cycles(ms=5), "external"),),
    )
    assert seen.sent == bytes((1, 0, 2, 1))
    assert [cause for _, cause in seen.restarts] == ["power-on", "external"]
    assert seen.restarts[1][0] == pytest.approx(cycles(ms=5), abs=4)


def test_the_watchdog_bites_a_program_that_hangs() -> None:
    """A program that stops feeding the watchdog starts again, told so by MCUSR, with the watchdog still running."""
    seen = play(
        "uint8_t cause = MCUSR; MCUSR = 0; wdt_disable(); send_start(); send(cause); wdt_enable(WDTO_15MS);", ms=40
    )
    assert seen.sent == bytes((1, 8, 8))
    assert [cause for _, cause in seen.restarts] == ["power-on", "watchdog", "watchdog"]
