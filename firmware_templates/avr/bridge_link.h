/* The board link over USART0, which the board joins to its USB serial bridge: 38,400 baud, 8 data bits, no parity, 1
 * stop bit, on pins 0 and 1.
 *
 * A byte lasts 260 us, so that even a host that talks without end interrupts a scan seldom.
 */
#ifndef BRIDGE_LINK_H
#define BRIDGE_LINK_H

#include <avr/io.h>
#include <stdint.h>

#define LINK_SLOTS 16 /* a power of two: what arrives in 4 ms, two of the longest ticks */

extern volatile uint8_t link_in;    /* bytes taken in, modulo 256 */
extern volatile uint8_t link_taken; /* bytes taken out */
extern volatile uint8_t link_ring[LINK_SLOTS];

void board_link_begin(void);

/* The oldest byte that came; returns 0 when there is none. */
static inline uint8_t port_link_take(uint8_t *byte)
{
    uint8_t taken = link_taken;
    if (taken == link_in) {
        return 0;
    }
    *byte = link_ring[taken & (LINK_SLOTS - 1)];
    link_taken = (uint8_t)(taken + 1);
    return 1;
}

/* 1 while the transmitter has room for a byte: it holds two. */
static inline uint8_t port_link_room(void)
{
    return (UCSR0A & _BV(UDRE0)) ? 1 : 0;
}

static inline void port_link_send(uint8_t byte)
{
    UDR0 = byte;
}

/* Behind each tick's work; bytes leave by themselves here. */
static inline void board_link_tick(void)
{
}

#endif
