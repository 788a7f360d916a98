"""The models around the emulated controller, each proved by a small program that reads or drives it."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import pytest

from tests.emulator.build import BuildError, build_program
from tests.emulator.harness import Chain, Event, Matrix, Port, Scenario, Seen, cycles, run, run_order

pytestmark = pytest.mark.emulator

PRELUDE = """
#include <avr/io.h>
#include <avr/interrupt.h>
#include <avr/wdt.h>
#include <util/delay.h>
static void send_start(void) { UBRR1 = 31; UCSR1C = 0x06; UCSR1B = _BV(TXEN1); }
static void send(uint8_t byte) { while (!(UCSR1A & _BV(UDRE1))) {} UDR1 = byte; }
static void spi_start(uint8_t control) { PORTB |= 1; DDRB |= 7; SPCR = _BV(SPE) | _BV(MSTR) | control; SPSR = 1; }
static void spi_load(void) { PORTB &= ~1; PORTB |= 1; }
static uint8_t spi_byte(void) { SPDR = 0; while (!(SPSR & _BV(SPIF))) {} return SPDR; }
"""


def play(
    body: str,
    *,
    functions: str = "",
    ms: float = 10,
    chain: Chain | None = None,
    matrices: tuple[Matrix, ...] = (),
    ports: dict[str, Port] | None = None,
    converters: dict[int, int] | None = None,
    events: tuple[Event, ...] = (),
    resets: tuple[tuple[int, str], ...] = (),
    keep_marks: bool = False,
) -> Seen:
    """Compile `body` as a main program and run it for `ms`."""
    image = build_program(f"{PRELUDE}{functions}\nint main(void) {{ {body} for (;;) {{}} }}")
    scenario = Scenario(
        hex=image.hex,
        cycles=cycles(ms=ms),
        chain=chain,
        matrices=matrices,
        ports=ports or {},
        converters=converters or {},
        events=events,
        resets=resets,
        keep_marks=keep_marks,
    )
    return run(scenario)


PATTERN = (0xB1, 0x4E, 0x27)
PATTERN_BITS = "".join(f"{byte:08b}" for byte in PATTERN)


def clocked(bits: str, *, least_first: bool) -> bytes:
    """Return the bytes that a controller assembles from bits in order of arrival."""
    pieces = [bits[at : at + 8] for at in range(0, 24, 8)]
    return bytes(int(piece[::-1] if least_first else piece, 2) for piece in pieces)


@pytest.mark.parametrize("least_first", [False, True], ids=["msb-first", "lsb-first"])
@pytest.mark.parametrize("mode", [0, 1, 2, 3])
def test_mode_and_bit_order_decide_what_is_read(mode: int, least_first: bool) -> None:
    """Modes 0, 2 and 3 read D7 first (NXP 74HC_HCT165, function table); mode 1 has shifted before its first sample."""
    control = (0x08 if mode & 2 else 0) | (0x04 if mode & 1 else 0) | (0x20 if least_first else 0)
    seen = play(
        f"send_start(); spi_start({control}); spi_load();"
        "uint8_t a = spi_byte(), b = spi_byte(), c = spi_byte(); send(a); send(b); send(c);",
        chain=Chain(3, initial=PATTERN),
    )
    arriving = PATTERN_BITS[1:] + "1" if mode == 1 else PATTERN_BITS
    assert seen.sent == clocked(arriving, least_first=least_first)
    assert seen.chain["modeErrors"] == (3 if mode == 1 else 0)
    assert seen.chain["edgeRaces"] == (3 if mode in (0, 3) else 0)
    assert seen.chain["modes"] == {f"mode {mode}, 8 MHz": 3}
    assert seen.problems == {}


@pytest.mark.parametrize("serial_level", [0, 1])
def test_bytes_beyond_the_chain_give_the_serial_input(serial_level: int) -> None:
    """What is clocked out after the last register is the level at which its serial input is tied."""
    seen = play(
        "send_start(); spi_start(0x08); spi_load(); uint8_t a = spi_byte(), b = spi_byte(); send(a); send(b);",
        chain=Chain(1, initial=(0x5A,), serial_level=serial_level),
    )
    assert seen.sent == bytes((0x5A, 0xFF * serial_level))
    assert seen.chain["beyondEnd"] == 1


def test_contents_follow_the_inputs_until_the_load_ends() -> None:
    """The levels at the rising edge of the load are held; later changes wait for the next load."""
    events: tuple[Event, ...] = ((cycles(us=500), "chain", 0, 3, 0), (cycles(us=1500), "chain", 0, 4, 0))
    seen = play(
        "send_start(); spi_start(0x08); PORTB &= ~1; _delay_us(1000); PORTB |= 1; _delay_us(1000);"
        "uint8_t a = spi_byte(); spi_load(); uint8_t b = spi_byte(); send(a); send(b);",
        chain=Chain(1, initial=(0xFF,)),
        events=events,
    )
    assert seen.sent == bytes((0xF7, 0xE7))
    assert seen.chain["loads"] == 2


def test_reading_with_the_load_held_low_repeats_the_last_input() -> None:
    """While PL is low the output shows D7 of the nearest register, however often it is clocked."""
    seen = play(
        "send_start(); spi_start(0x08); PORTB &= ~1; uint8_t a = spi_byte(), b = spi_byte(); send(a); send(b);",
        chain=Chain(1, initial=(0x80,)),
    )
    assert seen.sent == b"\xff\xff"


def test_a_change_of_clock_polarity_is_an_edge() -> None:
    """Raising the idle level of the clock after the load shifts the chain by one, as real registers would."""
    seen = play(
        "send_start(); spi_start(0x00); spi_load(); SPCR |= 0x08; uint8_t a = spi_byte(); send(a);",
        chain=Chain(1, initial=(0b10110001,), serial_level=0),
    )
    assert seen.sent == bytes((0b01100010,))


@pytest.mark.parametrize(
    ("flaw", "words"),
    [
        ("DDRB &= ~2;", "clock pin is no output"),
        ("DDRB &= ~1;", "SS pin is an input"),
        ("SPCR &= ~_BV(MSTR);", "not the master"),
    ],
)
def test_an_spi_that_could_not_work_is_reported(flaw: str, words: str) -> None:
    """The whole-byte SPI of the emulator would read all the same: the model says what the pins would not do."""
    seen = play(f"spi_start(0x08); spi_load(); {flaw} spi_byte();", chain=Chain(1))
    assert any(words in problem for problem in seen.problems)


def test_loading_in_the_middle_of_a_byte_is_counted() -> None:
    """A parallel load while a byte is being clocked tears that byte."""
    seen = play("spi_start(0x08 | 0x03); spi_load(); SPDR = 0; spi_load();", chain=Chain(1))
    assert seen.chain["loadsDuringTransfer"] > 0


MATRIX = Matrix(rows=(("C", 0), ("C", 1)), column_port="A", columns=4, settle_cycles=160)
DRIVE_AND_READ = "DDRC = {row}; {wait} a = PINA; DDRC = 0; _delay_us(20); send(a);"


@pytest.mark.parametrize(("wait_us", "expected"), [(12, (0xFD, 0xF7)), (2, (0xFF, 0xFF))], ids=["settled", "too-early"])
def test_a_matrix_is_read_row_by_row_once_settled(wait_us: int, expected: tuple[int, int]) -> None:
    """A closed contact pulls its column low in its own row; read before the line has settled it shows the old level."""
    seen = play(
        "uint8_t a; send_start(); PORTA = 0xFF;"
        + "".join(DRIVE_AND_READ.format(row=row, wait=f"_delay_us({wait_us});") for row in (1, 2)),
        matrices=(MATRIX,),
        events=((0, "matrix", 0, 0, 1, 1), (0, "matrix", 0, 1, 3, 1)),
    )
    assert seen.sent == bytes(expected)
    assert seen.problems == {}


@pytest.mark.parametrize(("shorted", "expected"), [((), 0xFD), (((1, 1),), 0xFC)], ids=["sound", "shorted"])
def test_a_shorted_diode_lets_a_key_be_heard_that_nobody_pressed(
    shorted: tuple[tuple[int, int], ...], expected: int
) -> None:
    """Three corners of a rectangle held: sound diodes keep the fourth silent, a shorted one at the far corner does not.

    Common practice, no source.
    """
    matrix = Matrix(
        rows=MATRIX.rows, column_port="A", columns=4, shorted_diodes=shorted, closed=((0, 1), (1, 1), (1, 0))
    )
    seen = play(
        "uint8_t a; send_start(); PORTA = 0xFF;" + DRIVE_AND_READ.format(row=1, wait="_delay_us(5);"),
        matrices=(matrix,),
    )
    assert seen.sent == bytes((expected,))


def test_columns_without_pull_ups_are_reported() -> None:
    """An open column that nothing pulls up has no level."""
    seen = play("(void)PINA;", matrices=(MATRIX,))
    assert any("float" in problem for problem in seen.problems)


def test_direct_contacts_pull_their_pins_low() -> None:
    """A pulled-up pin reads high with its contact open and low with it closed."""
    seen = play(
        "send_start(); PORTK = 0xFF; send(PINK); _delay_us(1000); send(PINK);",
        ports={"K": Port(contacts=0xFF)},
        events=((cycles(us=500), "port", "K", 2, 0),),
    )
    assert seen.sent == bytes((0xFF, 0xFB))
    assert seen.problems == {}


def test_a_contact_without_pull_up_is_reported_and_a_driven_line_is_not() -> None:
    """An open contact to ground needs the pull-up; a line driven from outside has its level anyway."""
    contact = play("(void)PINK;", ports={"K": Port(contacts=0x04)})
    driven = play("send_start(); send(PINK);", ports={"K": Port(levels=0x04, driven=0x04)})
    assert list(contact.problems) == ["port K read while bits 2 float: no pull-up"]
    assert driven.problems == {}
    assert driven.sent == b"\x04"


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
    ("start", "words"), [("ADMUX = 0xC0; ADCSRA = 0x87;", "reference"), ("ADMUX = 0x40; ADCSRA = 0x84;", "clock")]
)
def test_a_converter_that_would_read_badly_is_reported(start: str, words: str) -> None:
    """Another reference than the supply and a clock above 200 kHz are named."""
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


@pytest.mark.parametrize(
    ("events", "words"),
    [
        ([[0, "chain", 0, 0, 0], [9, "shoe", 1, 2]], "event 1: unknown kind 'shoe'"),
        ([[9, "port", "K", 1, 1], [3, "port", "K", 1, 0]], "event 1: cycle 3"),
    ],
)
def test_events_that_make_no_sense_are_refused(events: list[list[object]], words: str) -> None:
    """An unknown kind of event and events out of order are named by their place in the list."""
    image = build_program(f"{PRELUDE} int main(void) {{ for (;;) {{}} }}")
    with pytest.raises(RuntimeError, match=words):
        run_order({**Scenario(hex=image.hex, cycles=1000, chain=Chain(1)).as_json(), "events": events})


def test_an_unknown_diode_fault_is_refused() -> None:
    """Only a shorted diode is modelled."""
    image = build_program(f"{PRELUDE} int main(void) {{ for (;;) {{}} }}")
    order = Scenario(hex=image.hex, cycles=1000, matrices=(MATRIX,)).as_json()
    order["matrices"][0]["diodes"] = [[0, 0, "warm"]]
    with pytest.raises(RuntimeError, match="'warm' is no fault"):
        run_order(order)


def test_a_program_that_does_not_compile_gives_the_compilers_words() -> None:
    """The compiler's own message is in the error."""
    with pytest.raises(BuildError, match="expected expression"):
        build_program("int main(void) { return ; + }")


def test_a_damaged_image_is_refused_with_its_line(tmp_path: Path) -> None:
    """A hex record whose sum does not come out is named by its line."""
    image = build_program(f"{PRELUDE} int main(void) {{ for (;;) {{}} }}")
    lines = image.hex.read_text().splitlines()
    lines[1] = lines[1][:-2] + ("00" if lines[1][-2:] != "00" else "01")
    damaged = tmp_path / "damaged.hex"
    damaged.write_text("\n".join(lines))
    with pytest.raises(RuntimeError, match="line 2"):
        run(Scenario(hex=damaged, cycles=1000))
