#include "board.h"

#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/wdt.h>

#include "console.h"
#include "port.h"
#include "table_checks.h"

#if F_CPU != 16000000UL
#error "The tick and the wire are worked out for 16 MHz."
#endif

#define TICK_COUNTS (TICK_US * 2UL) /* timer 1 counts at 2 MHz */

/* Every pin is an input pulled up until it is something else, so that none floats. */
static void pins_pull_up(void)
{
    for (uint8_t port = 0; port != PORT_COUNT; port++) {
        *port_direction(port) = 0;
        *port_output(port) = 0xFF;
    }
}

/* Rows float while they are not driven: neither output nor pull-up. */
static void pins_float_rows(const struct matrix *matrix)
{
    for (uint8_t row = 0; row != flash_read_byte(&matrix->row_count); row++) {
        *port_output(flash_read_byte(&matrix->row_port[row])) &= (uint8_t)~flash_read_byte(&matrix->row_mask[row]);
    }
}

/* Select lines are driven; that they are also listed by other banks does no harm. */
static void pins_drive_select(const struct bank *bank)
{
    for (uint8_t line = 0; line != flash_read_byte(&bank->select_count); line++) {
        *port_direction(flash_read_byte(&bank->select_port[line])) |= flash_read_byte(&bank->select_mask[line]);
    }
}

/* Channels 0 to 7 are port F, 8 to 15 port K: no pull-up, which would bend the reading, and no digital input. */
static void pins_free_converter(uint8_t channel)
{
    uint8_t mask = (uint8_t)_BV(channel & 7u);
    if (channel & 8u) {
        PORTK &= (uint8_t)~mask;
        DIDR2 |= mask;
    } else {
        PORTF &= (uint8_t)~mask;
        DIDR0 |= mask;
    }
}

static void pins_begin(void)
{
    pins_pull_up();
    for (uint8_t i = 0; i != MATRIX_COUNT; i++) {
        pins_float_rows(&matrix_table[i]);
    }
    for (uint8_t i = 0; i != BANK_COUNT; i++) {
        pins_drive_select(&bank_table[i]);
    }
    for (uint8_t i = 0; i != SHOE_COUNT; i++) {
        if (flash_read_byte(&shoe_table[i].kind) == SHOE_CONVERTER) {
            pins_free_converter(flash_read_byte(&shoe_table[i].converter));
        }
    }
}

#if SPI_DIVIDER == 2 || SPI_DIVIDER == 4
#define SPI_RATE 0
#elif SPI_DIVIDER == 8 || SPI_DIVIDER == 16
#define SPI_RATE _BV(SPR0)
#else
#define SPI_RATE _BV(SPR1)
#endif
#if SPI_DIVIDER == 2 || SPI_DIVIDER == 8 || SPI_DIVIDER == 32
#define SPI_DOUBLE _BV(SPI2X)
#else
#define SPI_DOUBLE 0
#endif

/* Latch (pin 53), clock (pin 52) and data out (pin 51) are outputs; data in (pin 50) keeps its pull-up. */
static void chain_begin(void)
{
    DDRB |= _BV(CHAIN_LATCH_BIT) | _BV(1) | _BV(2);
    SPCR = _BV(SPE) | _BV(MSTR) | _BV(CPOL) | SPI_RATE;
    SPSR = SPI_DOUBLE;
    SPDR = 0; /* a first byte, as each scan leaves one on its way */
}

#define BUS_DIVIDER ((F_CPU / (BUS_KHZ * 1000UL) - 16) / 2) /* data sheet, bit rate generator, prescaler 1 */

/* Data on pin 20, clock on pin 21; their pull-ups stay and help those of the bus. */
static void bus_begin(void)
{
    if (EXPANDER_COUNT != 0) {
        TWSR = 0;
        TWBR = BUS_DIVIDER;
    }
}

/* Timer 1 raises its compare flag each tick; the main loop polls it, so that no interrupt shifts a scan. */
static void tick_begin(void)
{
    TCCR1A = 0;
    TCCR1B = _BV(WGM12) | _BV(CS11);
    OCR1A = TICK_COUNTS - 1;
    TCNT1 = 0;
    TIFR1 = _BV(OCF1A);
}

static inline uint8_t board_tick_due(void)
{
    return TIFR1 & _BV(OCF1A);
}

/* Out of line, so that the main loop, which the compiler builds around the scan, holds nothing else. */
__attribute__((noinline)) void board_setup(void)
{
    MCUSR = 0;
    wdt_disable();
    pins_begin();
    chain_begin();
    bus_begin();
    wire_begin();
    ADCSRA = _BV(ADEN) | _BV(ADPS2) | _BV(ADPS1) | _BV(ADPS0);
    TIMSK0 = 0; /* the stock core's millisecond interrupt would shift scans, and nothing here asks it for the time */
    console_begin();
    tick_begin();
    sei();
}

void board_loop(void)
{
    while (!board_tick_due()) {
        console_idle();
    }
    TIFR1 = _BV(OCF1A);
    console_tick();
}
