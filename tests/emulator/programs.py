"""Small programs for the emulated controller, written by hand, and how to run them."""

from __future__ import annotations

from tests.emulator.build import build_program
from tests.emulator.harness import Chain, Event, Matrix, Port, Scenario, Seen, cycles, run

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
