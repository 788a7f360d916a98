"""The models of multiplexers and expanders, met by small programs that use them rightly and wrongly."""

from __future__ import annotations

import pytest

from tests.emulator.build import build_program
from tests.emulator.harness import Bank, Expander, Scenario, Seen, cycles, run
from tests.emulator.programs import PRELUDE

SELECT = (("D", 7), ("G", 2), ("G", 1))
LEVELS = (0xFF, 0x5A, 0xFF, 0x00, 0xFF, 0xFF, 0xFF, 0x81)
SETTLE_US = 10
"""Of the commons: the wait that the program has to keep."""

CHOOSE = """
static void choose(uint8_t n) {
    if (n & 1) PORTD |= 0x80; else PORTD &= ~0x80;
    if (n & 2) PORTG |= 4; else PORTG &= ~4;
    if (n & 4) PORTG |= 2; else PORTG &= ~2;
}
"""
TALK = """
static uint8_t step(uint8_t order) {
    TWCR = _BV(TWINT) | _BV(TWEN) | order;
    while (!(TWCR & _BV(TWINT))) {}
    return TWSR & 0xF8;
}
static uint8_t put(uint8_t byte) { TWDR = byte; return step(0); }
static void stop(void) { TWCR = _BV(TWINT) | _BV(TWEN) | _BV(TWSTO); while (TWCR & _BV(TWSTO)) {} }
static void set(uint8_t at, uint8_t byte) { step(_BV(TWSTA)); put(0x40); put(at); put(byte); put(byte); stop(); }
static uint8_t get(uint8_t at) {
    step(_BV(TWSTA)); put(0x40); put(at); step(_BV(TWSTA)); put(0x41); step(0);
    uint8_t byte = TWDR;
    stop();
    return byte;
}
"""


def bank_program(body: str) -> Seen:
    """Run a program beside one bank of multiplexers with eight inputs."""
    image = build_program(f"{PRELUDE}{CHOOSE}\nint main(void) {{ send_start(); {body} for (;;) {{}} }}")
    bank = Bank(SELECT, "K", LEVELS, settle_cycles=cycles(us=SETTLE_US))
    return run(Scenario(image.hex, cycles(ms=6), banks=(bank,)))


def bus_program(body: str, *expanders: Expander) -> Seen:
    """Run a program beside expanders on a bus of 400 kHz."""
    start = "send_start(); TWBR = 12;"
    image = build_program(f"{PRELUDE}{TALK}\nint main(void) {{ {start} {body} for (;;) {{}} }}")
    return run(Scenario(image.hex, cycles(ms=6), expanders=expanders))


def test_each_input_is_read_after_its_wait() -> None:
    """With the select lines driven and the wait kept, the eight bytes are those of the eight inputs."""
    seen = bank_program("DDRD |= 0x80; DDRG |= 6; for (uint8_t n = 0; n != 8; n++) {"
                        f"choose(n); _delay_us({SETTLE_US}); send(PINK); }}")  # fmt: skip
    assert seen.sent == bytes(LEVELS)
    assert seen.problems == {}


def test_a_wait_that_is_too_short_shows_the_input_before() -> None:
    """Commons that were low have not risen at once; a little later they stand between the levels, which is reported."""
    body = "DDRD |= 0x80; DDRG |= 6; choose(3); _delay_us(50); choose(2); uint8_t at_once = PINK; _delay_us(5);"
    seen = bank_program(f"{body} (void)PINK; send(at_once); _delay_us(10); send(PINK);")
    assert seen.sent == b"\x00\xff"
    assert [words for words in seen.problems if "wait was too short" in words]


def test_select_lines_that_nobody_drives_are_reported() -> None:
    """A read of the commons before the select lines are outputs is no reading."""
    assert list(bank_program("send(PINK);").problems) == ["multiplexer commons read while select lines are no outputs"]


def test_an_expander_shows_its_lines_once_it_is_set_up() -> None:
    """Inputs with their pull-ups on read as wired; the eighth pin, an output that was never set, reads low."""
    seen = bus_program(
        "set(0x00, 0x7F); set(0x0C, 0x7F); send(get(0x12)); send(get(0x13)); send(get(0x0C));",
        Expander(0x20, (0xA5, 0xFE)),
    )
    assert seen.sent == b"\x25\x7e\x7f"
    assert seen.problems == {}


@pytest.mark.parametrize(
    ("body", "words"),
    [
        ("set(0x00, 0x7F); send(get(0x12));", "floats"),
        ("set(0x0C, 0xFF); send(get(0x12));", "pin 7 of a port is an input"),
    ],
    ids=["no pull-up", "pin 7 as input"],
)
def test_an_expander_that_is_set_up_wrongly_is_reported(body: str, words: str) -> None:
    """An input that nothing holds and an input on the pin that is an output alone are named."""
    assert any(words in problem for problem in bus_program(body, Expander(0x20)).problems)


def test_an_address_that_nobody_has_is_not_acknowledged() -> None:
    """Status 0x20 answers it, 0x18 one that is there (ATmega2560 data sheet, status codes, master transmitter)."""
    seen = bus_program("step(_BV(TWSTA)); send(put(0x40)); stop(); step(_BV(TWSTA)); send(put(0x42)); stop();",
                       Expander(0x20), Expander(0x21, away=True))  # fmt: skip
    assert seen.sent == b"\x18\x20"
    assert seen.bus["refused"] == 1


def test_a_read_takes_its_bits_on_the_bus() -> None:
    """48 bits at 400 kHz are 120 µs (NXP UM10204); a polling program adds fewer than 20 cycles to each step."""
    seen = bus_program(
        "set(0x00, 0x7F); set(0x0C, 0x7F); step(_BV(TWSTA)); put(0x40); put(0x12); step(_BV(TWSTA)); put(0x41);"
        "step(_BV(TWEA)); step(0); stop();",
        Expander(0x20),
    )
    begin, end = seen.bus["rounds"][-1]
    assert cycles(us=120) <= end - begin <= cycles(us=120) + 8 * 20
