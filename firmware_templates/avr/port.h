/* The core's door to the AVR chips: registers, inline.
 *
 * Chain of 74HC165: SPI mode 2 (CPOL 1, CPHA 0), most significant bit first.  The register shows its input H (D7)
 * before any clock and shifts on rising edges; mode 2 samples on the falling edges between.  The latch pin is low to
 * load.
 */
#ifndef PORT_H
#define PORT_H

#include <avr/io.h>
#include <stddef.h>
#include <stdint.h>
#include <util/delay_basic.h>

#include "chain_pass.h"
#include "chip.h"
#include "eeprom_store.h"
#include "lanes.h"
#include "memory_left.h"
#include "port_list.h"
#include "restart.h"
#include "slot.h"
#include "wire.h"
#include "wire_in.h"

#define PORT_ASSERT(condition) ((void)0)

/* Marks for measuring, in a register that serves nothing else: 0xFF a scan begins, n + 1 run n begins, 0 it has
 * ended. */
#define PORT_MARK(value) (GPIOR0 = (value))

/* Loads the contacts into all registers: at least 300 ns low at 16 MHz, more than ten times what a 74HC165 asks for
 * at 4.5 V, to leave room for slow edges at the far end of a cable.  Behind the last lane of the scan before, one
 * more byte was started: its clocks must have ended, even when this scan follows at once because the last one was
 * late. */
static inline void port_chain_latch(void)
{
    CHAIN_LATCH_PORT &= (uint8_t)~_BV(CHAIN_LATCH_BIT);
    while (!(SPSR & _BV(SPIF))) {
    }
    CHAIN_LATCH_PORT |= _BV(CHAIN_LATCH_BIT);
}

/* Starts the byte of the first register; reading the data first clears the flag that the latch has seen. */
static inline void port_chain_start(void)
{
    (void)SPDR;
    SPDR = 0;
}

/* Waits for the byte that is on its way, and starts the next. */
static inline uint8_t port_chain_take_and_start(void)
{
    while (!(SPSR & _BV(SPIF))) {
    }
    uint8_t raw = SPDR;
    SPDR = 0;
    return raw;
}

/* Fills a slot and returns the one behind it.  In assembly because the compiler turns a moving pointer back into one
 * with offsets, which the registers that are free here do not have. */
static inline __attribute__((always_inline)) struct slot *port_slot_fill(struct slot *slot, uint8_t mask, uint8_t value,
                                                                         uint8_t lane)
{
    __asm__ volatile("st X+, %[mask]\n\t"
                     "st X+, %[value]\n\t"
                     "st X+, %[lane]"
                     : [slot] "+x"(slot)
                     : [mask] "r"(mask), [value] "r"(value), [lane] "r"(lane)
                     : "memory");
    return slot;
}

static inline uint8_t port_read(uint8_t port)
{
    return *port_input(port);
}

/* A matrix row: driven low, or left floating. */
static inline void port_row_drive(uint8_t port, uint8_t mask)
{
    *port_direction(port) |= mask;
}

static inline void port_row_release(uint8_t port, uint8_t mask)
{
    *port_direction(port) &= (uint8_t)~mask;
}

/* Columns, whose pull-ups are on: driven high, or left to them again.  No row may be low meanwhile. */
static inline void port_columns_drive(uint8_t port, uint8_t mask)
{
    *port_direction(port) |= mask;
}

static inline void port_columns_release(uint8_t port, uint8_t mask)
{
    *port_direction(port) &= (uint8_t)~mask;
}

/* A select line of multiplexers, or a row that is always driven. */
static inline void port_output_put(uint8_t port, uint8_t mask, uint8_t high)
{
    if (high) {
        *port_output(port) |= mask;
    } else {
        *port_output(port) &= (uint8_t)~mask;
    }
}

/* At least this long: four passes of four cycles are a microsecond at 16 MHz. */
static inline __attribute__((always_inline)) void port_wait_us(uint8_t us)
{
    if (us != 0) {
        _delay_loop_2((uint16_t)(us * (F_CPU / 4000000UL)));
    }
}

/* Starts a conversion of a channel against the supply. */
static inline void port_converter_start(uint8_t channel)
{
    chip_select_converter(channel);
    ADCSRA |= _BV(ADSC);
}

static inline uint8_t port_converter_is_done(void)
{
    return !(ADCSRA & _BV(ADSC));
}

static inline uint16_t port_converter_counts(void)
{
    return ADC;
}

/* The two-wire bus: orders one step and returns; clearing the flag starts it (data sheet, two-wire interface). */
static inline void port_bus_start(void)
{
    TWCR = _BV(TWINT) | _BV(TWEN) | _BV(TWSTA);
}

static inline void port_bus_stop(void)
{
    TWCR = _BV(TWINT) | _BV(TWEN) | _BV(TWSTO);
}

static inline void port_bus_write(uint8_t byte)
{
    TWDR = byte;
    TWCR = _BV(TWINT) | _BV(TWEN);
}

/* Takes a byte from the device; `more` tells it that another will be taken. */
static inline void port_bus_take(uint8_t more)
{
    TWCR = more ? _BV(TWINT) | _BV(TWEN) | _BV(TWEA) : _BV(TWINT) | _BV(TWEN);
}

#define BUS_CLOCK _BV(0) /* PD0 and PD1 on both chips */
#define BUS_DATA _BV(1)
#define BUS_HALF_US 5 /* of a clock period; the bus wants 4.7 us (NXP UM10204, table 10, standard mode) */

/* Gives both wires up.  When a device goes on holding the data wire, because it was left in the middle of a byte, it is
 * clocked once: nine times at most and it lets go (NXP UM10204, bus clear). */
static inline void port_bus_release(void)
{
    TWCR = 0;
    if (PIND & BUS_DATA) {
        return;
    }
    PORTD &= (uint8_t)~BUS_CLOCK; /* first, so that the wire is never driven high */
    DDRD |= BUS_CLOCK;
    port_wait_us(BUS_HALF_US);
    DDRD &= (uint8_t)~BUS_CLOCK;
    PORTD |= BUS_CLOCK;
    port_wait_us(BUS_HALF_US);
}

static inline uint8_t port_bus_is_done(void)
{
    return TWCR & _BV(TWINT);
}

/* 1 when a stop that was ordered has been sent. */
static inline uint8_t port_bus_is_free(void)
{
    return !(TWCR & _BV(TWSTO));
}

/* 1 when the step that is done was a start, or was acknowledged, or brought a byte (data sheet, status codes for master
 * transmitter and master receiver mode). */
static inline uint8_t port_bus_went_well(void)
{
    switch (TWSR & 0xF8u) {
    case 0x08: /* start */
    case 0x10: /* repeated start */
    case 0x18: /* address to write to, acknowledged */
    case 0x28: /* byte, acknowledged */
    case 0x40: /* address to read from, acknowledged */
    case 0x50: /* byte taken, acknowledged */
    case 0x58: /* byte taken, the last */
        return 1;
    default:
        return 0;
    }
}

static inline uint8_t port_bus_byte(void)
{
    return TWDR;
}

static inline uint8_t port_wire_waiting(void)
{
    return wire_waiting();
}

static inline __attribute__((always_inline)) void port_wire_send(uint8_t byte)
{
    wire_send(byte);
}

static inline uint8_t port_wire_take(uint8_t *byte)
{
    return wire_in_take(byte);
}

#define PORT_COUNTS_PER_US 2 /* timer 1 counts at 2 MHz, and begins again each tick */
#define PORT_TICK_COUNTS (TICK_US * 2UL)

/* Counts since the present tick began.  When the next tick is due already, its beginning has set the count back; the
 * count is read again then, for it may have gone back between the two readings. */
static inline uint16_t port_tick_counts(void)
{
    uint16_t counts = TCNT1;
    if (TIFR1 & _BV(OCF1A)) {
        counts = (uint16_t)(TCNT1 + PORT_TICK_COUNTS);
    }
    return counts;
}

static inline uint8_t port_restart_cause(void)
{
    return restart_cause;
}

static inline uint16_t port_watchdog_restarts(void)
{
    return restart_watchdog_count;
}

#if LINK
static inline uint16_t port_free_memory(void)
{
    return memory_left();
}
#endif

#endif
