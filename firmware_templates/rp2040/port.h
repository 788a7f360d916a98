/* The core's door to the RP2040: registers, inline.
 *
 * Chain of 74HC165: SPI mode 2 (SPO 1, SPH 0), most significant bit first.  The register shows its input H (D7) before
 * any clock and shifts on rising edges; mode 2 samples on the falling edges between.  Behind every byte the serial port
 * rests for a bit or two, because its own select signal, which nothing here uses, has to go up and down in this mode
 * (RP2040 data sheet, 4.4.3.12).  GP17 latches: low loads.
 */
#ifndef PORT_H
#define PORT_H

#include <stdint.h>

#include "bus.h"
#include "flash_store.h"
#include "lanes.h"
#include "pins.h"
#include "registers.h"
#include "restart.h"
#include "slot.h"
#include "tick.h"
#include "usb_link.h"
#include "usb_midi.h"
#include "wire.h"

#define PORT_ASSERT(condition) ((void)0)

/* Marks for measuring, in a register that serves nothing else: 0xFF a scan begins, n + 1 run n begins, 0 it has
 * ended. */
#define PORT_MARK(value) (SIO_INTERP1_BASE2 = (value))

/* Three cycles a pass from the cache or from RAM (ARM DDI 0484, Cortex-M0+ instruction timing: 1 and, taken, 2). */
static inline void port_wait_cycles(uint32_t cycles)
{
    uint32_t passes = (cycles + 2u) / 3u;
    if (passes != 0) {
        __asm__ volatile(".syntax unified\n1: subs %[passes], #1\n\tbne 1b" : [passes] "+l"(passes) : : "cc");
    }
}

/* At least this long. */
static inline void port_wait_us(uint8_t us)
{
    port_wait_cycles(us * (F_CPU / 1000000u));
}

#define CHAIN_LOAD (1u << PIN_CHAIN_LOAD)
#define CHAIN_LOAD_CYCLES 38u /* 300 ns at 125 MHz */

/* Bytes asked for ahead: with a second one waiting the port goes from byte to byte without being attended to. */
#define CHAIN_AHEAD 2u

/* Loads the contacts into all registers: at least 300 ns low, more than ten times what a 74HC165 asks for at 4.5 V, to
 * leave room for slow edges at the far end of a cable.  Behind the last lane of the scan before, two more bytes were
 * asked for: their clocks must have ended, even when this scan follows at once because the last one was late.  They
 * are thrown away. */
static inline void port_chain_latch(void)
{
    SIO_GPIO_OUT_CLR = CHAIN_LOAD;
    while (SPI0_SR & SPI_SR_BUSY) {
    }
    while (SPI0_SR & SPI_SR_RECEIVED) {
        (void)SPI0_DR;
    }
    port_wait_cycles(CHAIN_LOAD_CYCLES);
    SIO_GPIO_OUT_SET = CHAIN_LOAD;
}

/* Starts the bytes of the first registers. */
static inline void port_chain_start(void)
{
    for (uint8_t left = CHAIN_AHEAD; left != 0; left--) {
        SPI0_DR = 0;
    }
}

/* Waits for the byte that is on its way, and asks for another. */
static inline uint8_t port_chain_take_and_start(void)
{
    while (!(SPI0_SR & SPI_SR_RECEIVED)) {
    }
    uint8_t raw = (uint8_t)SPI0_DR;
    SPI0_DR = 0;
    return raw;
}

/* Passes lanes as long as they are quiet (see lane_is_quiet): *lane and *left move to the first that is not, whose
 * byte is returned; *left is 0 when all were quiet.  *left must not be 0. */
static inline __attribute__((always_inline)) uint8_t port_chain_pass_quiet(struct lane_state **lane, uint8_t *left)
{
    struct lane_state *at = *lane;
    uint32_t count = *left;
    uint8_t raw;
    for (;;) {
        raw = port_chain_take_and_start();
        if (!lane_is_quiet(at, raw)) {
            break;
        }
        at++;
        if (--count == 0) {
            break;
        }
    }
    *lane = at;
    *left = (uint8_t)count;
    return raw;
}

/* Fills a slot and returns the one behind it. */
static inline struct slot *port_slot_fill(struct slot *slot, uint8_t mask, uint8_t value, uint8_t lane)
{
    slot->mask = mask;
    slot->value = value;
    slot->lane = lane;
    return slot + 1;
}

static inline uint8_t port_read(uint8_t port)
{
    return (uint8_t)(SIO_GPIO_IN >> (8u * port));
}

/* A matrix row: driven low, or left floating. */
static inline void port_row_drive(uint8_t port, uint8_t mask)
{
    SIO_GPIO_OE_SET = pins_of(port, mask);
}

static inline void port_row_release(uint8_t port, uint8_t mask)
{
    SIO_GPIO_OE_CLR = pins_of(port, mask);
}

/* Columns, whose pull-ups are on: driven high, or left to them again.  No row may be low meanwhile. */
static inline void port_columns_drive(uint8_t port, uint8_t mask)
{
    SIO_GPIO_OUT_SET = pins_of(port, mask);
    SIO_GPIO_OE_SET = pins_of(port, mask);
}

static inline void port_columns_release(uint8_t port, uint8_t mask)
{
    SIO_GPIO_OE_CLR = pins_of(port, mask);
}

/* A select line of multiplexers, or a row that is always driven. */
static inline void port_output_put(uint8_t port, uint8_t mask, uint8_t high)
{
    if (high) {
        SIO_GPIO_OUT_SET = pins_of(port, mask);
    } else {
        SIO_GPIO_OUT_CLR = pins_of(port, mask);
    }
}

/* Starts a conversion of a channel (0 to 2: GP26 to GP28) against the board's 3.3 V; it takes 2 us. */
static inline void port_converter_start(uint8_t channel)
{
    ADC_CS = ADC_CS_ENABLE | ADC_CS_CHANNEL(channel) | ADC_CS_START_ONE;
}

static inline uint8_t port_converter_is_done(void)
{
    return (ADC_CS & ADC_CS_READY) != 0;
}

static inline uint16_t port_converter_counts(void)
{
    return (uint16_t)ADC_RESULT;
}

static inline uint8_t port_wire_waiting(void)
{
    return wire_waiting();
}

static inline void port_wire_send(uint8_t byte)
{
    wire_send(byte);
}

/* 1 if a byte came in. */
static inline uint8_t port_wire_take(uint8_t *byte)
{
    return wire_take(byte);
}

#define PORT_CHIP LINK_CHIP_RP2040 /* enum link_chip */
#define PORT_COUNTS_PER_US 1

/* Since the present tick began. */
static inline uint16_t port_tick_counts(void)
{
    return (uint16_t)(TIMER_RAW_LOW - tick_began_us);
}

#endif
