"""A general debouncing scheme to compare with: one timer per contact, written plainly, fed from the same registers.

Each contact has its state and a timer.  Each scan takes the bytes of the chain one after the other and looks at each
contact in turn: while its timer runs it is counted down, else a level that differs from the state is taken over and
starts the timer.  That is the first-edge debounce, contact by contact; nothing is sent, only counted.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache

from tests.emulator.bench_console import REGISTERS
from tests.emulator.bench_scans import Spread, run_soundly, whole_scans
from tests.emulator.build import Image, build_program
from tests.emulator.harness import Chain, Event, Scenario, cycles

TICK_US = 2000
"""Long enough for its scans."""
SETTLED_MS = 20
RUN_MS = 60
SOURCE = f"""
#include <avr/io.h>
#include <stdint.h>

#define REGISTERS {REGISTERS}
#define HOLD_SAMPLES 5

struct contact {{
    uint8_t level;
    uint8_t timer;
}};

static struct contact contacts[REGISTERS * 8];
volatile uint16_t changes;

static uint8_t chain_byte(void)
{{
    SPDR = 0;
    while (!(SPSR & _BV(SPIF))) {{
    }}
    return SPDR;
}}

static void contact_look(struct contact *contact, uint8_t level)
{{
    if (contact->timer != 0) {{
        contact->timer--;
    }} else if (contact->level != level) {{
        contact->level = level;
        contact->timer = HOLD_SAMPLES;
        changes++;
    }}
}}

static void scan(void)
{{
    struct contact *contact = contacts;
    PORTB &= (uint8_t)~_BV(0);
    PORTB |= _BV(0);
    for (uint8_t number = 0; number != REGISTERS; number++) {{
        uint8_t raw = chain_byte();
        for (uint8_t bit = 0; bit != 8; bit++) {{
            contact_look(contact++, raw & 1);
            raw >>= 1;
        }}
    }}
}}

int main(void)
{{
    for (uint16_t i = 0; i != REGISTERS * 8; i++) {{
        contacts[i].level = 1;
    }}
    DDRB = _BV(0) | _BV(1) | _BV(2);
    SPCR = _BV(SPE) | _BV(MSTR) | _BV(CPOL);
    SPSR = _BV(SPI2X);
    TCCR1B = _BV(WGM12) | _BV(CS11);
    OCR1A = {TICK_US} * 2 - 1;
    for (;;) {{
        while (!(TIFR1 & _BV(OCF1A))) {{
        }}
        TIFR1 = _BV(OCF1A);
        GPIOR0 = 0xFF;
        scan();
        GPIOR0 = 0;
    }}
}}
"""


@cache
def plain_image() -> Image:
    """Return the program, compiled as the firmware is."""
    return build_program(SOURCE)


def plain_scans(spread: Spread = ()) -> list[int]:
    """Return the cycles of its scans while the contacts of a spread are struck at once; without any, at rest."""
    scenario = Scenario(
        hex=plain_image().hex,
        cycles=cycles(ms=RUN_MS),
        chain=Chain(REGISTERS, initial=(0xFF,) * REGISTERS),
        events=tuple(_strokes(spread)),
        keep_marks=True,
    )
    return [ends - begins for begins, ends in whole_scans(run_soundly(scenario).marks)]


def _strokes(spread: Spread) -> Iterable[Event]:
    for register, bit in spread:
        yield (cycles(ms=SETTLED_MS), "chain", register, bit, 0)
        yield (cycles(ms=2 * SETTLED_MS), "chain", register, bit, 1)
