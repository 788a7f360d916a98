#include "board.h"

#include <avr/interrupt.h>
#include <avr/io.h>

#include "console.h"
#include "converter.h"
#include "listening.h"
#include "port.h"
#include "table_checks.h"

#if F_CPU != 16000000UL
#error "The tick and the wire are worked out for 16 MHz."
#endif

/* Every pin is an input pulled up until it is something else, so that none floats; but never one that listens. */
static void pins_pull_up(void)
{
    for (uint8_t port = 0; port != PORT_COUNT; port++) {
        *port_direction(port) = 0;
        *port_output(port) = (uint8_t)~listening_bits(port);
    }
    chip_begin();
}

/* Rows float while they are not read, neither output nor pull-up, or they are driven high for good. */
static void pins_begin_rows(const struct matrix *matrix)
{
    for (uint8_t row = 0; row != flash_read_byte(&matrix->row_count); row++) {
        uint8_t port = flash_read_byte(&matrix->row_port[row]);
        uint8_t mask = flash_read_byte(&matrix->row_mask[row]);
        if (flash_read_byte(&matrix->drive) == DRIVE_PUSH_PULL) {
            *port_direction(port) |= mask;
        } else {
            *port_output(port) &= (uint8_t)~mask;
        }
    }
}

/* Select lines are driven; that they are also listed by other banks does no harm. */
static void pins_drive_select(const struct bank *bank)
{
    for (uint8_t line = 0; line != flash_read_byte(&bank->select_count); line++) {
        *port_direction(flash_read_byte(&bank->select_port[line])) |= flash_read_byte(&bank->select_mask[line]);
    }
}

static void pins_begin(void)
{
    pins_pull_up();
    for (uint8_t i = 0; i != MATRIX_COUNT; i++) {
        pins_begin_rows(&matrix_table[i]);
    }
    for (uint8_t i = 0; i != BANK_COUNT; i++) {
        pins_drive_select(&bank_table[i]);
    }
    for (uint8_t i = 0; i != SHOE_COUNT; i++) {
        if (converter_reads(i)) {
            chip_free_converter(flash_read_byte(&shoe_table[i].converter));
        }
    }
}

#if SPI_DIVIDER > 64
#error "SPI_DIVIDER must be 64 at most on this chip."
#endif
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

uint8_t chain_is_prompt;

#define PROMPT_TRIALS 16

/* Starts bytes and looks, 17 cycles behind each start, whether it has come in; 1 when all had.  A trial takes 23
 * cycles, an odd number, so that they begin on both phases of a clock that is half the CPU's. */
static uint8_t chain_byte_is_prompt(void)
{
    uint8_t trials = PROMPT_TRIALS;
    uint8_t all = 0xFF;
    uint8_t seen;
    __asm__ volatile("1: out %[spdr], __zero_reg__\n\t"
                     "ldi %[seen], 5\n"
                     "2: dec %[seen]\n\t"
                     "brne 2b\n\t"
                     "nop\n\t"
                     "in %[seen], %[spsr]\n\t"
                     "and %[all], %[seen]\n\t"
                     "in %[seen], %[spdr]\n\t"
                     "dec %[trials]\n\t"
                     "brne 1b"
                     : [trials] "+r"(trials), [all] "+r"(all), [seen] "=&d"(seen)
                     : [spsr] "I"(_SFR_IO_ADDR(SPSR)), [spdr] "I"(_SFR_IO_ADDR(SPDR)));
    return (all & _BV(SPIF)) != 0;
}

/* Latch, clock (PB1) and data out (PB2) are outputs; data in (PB3) keeps its pull-up. */
static void chain_begin(void)
{
    CHAIN_LATCH_DIRECTION |= _BV(CHAIN_LATCH_BIT);
    DDRB |= _BV(1) | _BV(2);
    SPCR = _BV(SPE) | _BV(MSTR) | _BV(CPOL) | SPI_RATE;
    SPSR = SPI_DOUBLE;
    chain_is_prompt = SPI_DIVIDER == 2 && chain_byte_is_prompt();
    SPDR = 0; /* a first byte, as each scan leaves one on its way */
}

#define BUS_DIVIDER ((F_CPU / (BUS_KHZ * 1000UL) - 16) / 2) /* data sheet, bit rate generator, prescaler 1 */

/* The pull-ups of data and clock stay and help those of the bus. */
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
    OCR1A = PORT_TICK_COUNTS - 1;
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
    pins_begin();
    restart_note();
    chain_begin();
    bus_begin();
    store_begin();
    if (MIDI_WIRE) {
        wire_begin();
    }
    if (LINK) {
        board_link_begin();
    }
    ADCSRA = _BV(ADEN) | _BV(ADPS2) | _BV(ADPS1) | _BV(ADPS0);
    TIMSK0 = 0; /* the stock core's millisecond interrupt would shift scans, and nothing here asks it for the time */
    console_begin();
    listening_begin();
    memory_begin();
    tick_begin();
    restart_watch();
    sei();
}

void board_loop(void)
{
    while (!board_tick_due()) {
        console_idle();
    }
    TIFR1 = _BV(OCF1A);
    console_tick();
    if (LINK) {
        board_link_tick();
    }
    restart_kick();
}
