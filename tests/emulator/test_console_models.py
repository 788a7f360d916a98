"""The models of the console, each proved by a small program that reads it: registers, matrix and pins."""

from __future__ import annotations

import pytest

from tests.emulator.harness import Chain, Event, Matrix, Port, cycles
from tests.emulator.programs import play

pytestmark = pytest.mark.emulator

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


def test_the_flag_of_a_byte_stays_until_the_status_was_read() -> None:
    """Touching the data clears it only behind a reading of the status that saw it set (data sheet, SPI status)."""
    body = """
        send_start(); spi_start(_BV(CPOL)); SPDR = 0; _delay_us(10); (void)SPDR;
        uint8_t kept = SPSR; (void)SPDR; send(kept); send(SPSR);
    """
    seen = play(body, chain=Chain(1))
    assert [byte & 0x80 for byte in seen.sent] == [0x80, 0]
